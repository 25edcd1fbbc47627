package sheet

import (
	"encoding/binary"
	"reflect"
	"testing"
	"unicode/utf16"
)

// utf16Of writes a text as editors do that save in UTF-16, its mark before it.
func utf16Of(text string, order binary.AppendByteOrder) []byte {
	var data []byte
	for _, word := range utf16.Encode([]rune("\ufeff" + text)) {
		data = order.AppendUint16(data, word)
	}
	return data
}

// TestUTF16 reads the same from either order of bytes as from UTF-8, signs beyond 16 bits among it.
func TestUTF16(t *testing.T) {
	const text = "name = \"Maïs 🛩\"\r\nchord = \"48 1/16 in\"\r\n[wire]\r\nkerf = \"1.5 mm\" # measured\r\n"
	want, err := Parse([]byte(text), "wing.toml")
	if err != nil {
		t.Fatal(err)
	}
	for _, order := range []binary.AppendByteOrder{binary.LittleEndian, binary.BigEndian} {
		data := utf16Of(text, order)
		got, err := Parse(data, "wing.toml")
		if err != nil {
			t.Fatalf("%v: %v", order, err)
		}
		if got.Source.SHA256 == want.Source.SHA256 || got.Source.Bytes != int64(len(data)) {
			t.Errorf("%v: the source is %+v, not that of the file", order, got.Source)
		}
		got.Source = want.Source
		if !reflect.DeepEqual(got, want) {
			t.Errorf("%v: %+v, want %+v", order, got, want)
		}
	}
}

// TestInUTF8 takes marks off and leaves alone what is no text of either kind.
func TestInUTF8(t *testing.T) {
	for from, want := range map[string]string{
		"": "", "chord": "chord", "\ufeffchord": "chord", "\xff\xfec\x00": "c", "\xfe\xff\x00c": "c",
		"\xff\xfec": "\xff\xfec", "\xff\xfe": "",
	} {
		if got := InUTF8([]byte(from)); string(got) != want {
			t.Errorf("%q became %q, want %q", from, got, want)
		}
	}
}
