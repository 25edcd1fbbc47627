package sheet

import (
	"bytes"
	"encoding/binary"
	"unicode/utf16"
)

// InUTF8 returns a sheet's text as the decoder wants it. Some editors save plain text in UTF-16, with a mark at its
// beginning that tells the order of the bytes (The Unicode Standard, section 2.13); all else is returned as it is, but
// without the mark that some put before UTF-8. Lines stay where they are.
func InUTF8(data []byte) []byte {
	var order binary.ByteOrder
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	switch {
	case len(data)%2 != 0:
		return data
	case bytes.HasPrefix(data, []byte{0xff, 0xfe}):
		order = binary.LittleEndian
	case bytes.HasPrefix(data, []byte{0xfe, 0xff}):
		order = binary.BigEndian
	default:
		return data
	}
	words := make([]uint16, 0, len(data)/2)
	for rest := data[2:]; len(rest) > 0; rest = rest[2:] {
		words = append(words, order.Uint16(rest))
	}
	return []byte(string(utf16.Decode(words)))
}
