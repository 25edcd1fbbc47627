package scan

import "testing"

// TestUnitWords wants words for every unit and nothing for none.
func TestUnitWords(t *testing.T) {
	want := map[Unit]string{Millimetre: "millimetres", Centimetre: "centimetres", Metre: "metres", Inch: "inches", Foot: "feet", UnitUnknown: ""}
	for _, u := range append(Units(), UnitUnknown) {
		if got, ok := want[u]; !ok || u.Words() != got {
			t.Errorf("%q in words is %q", u, u.Words())
		}
	}
}
