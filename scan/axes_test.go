package scan

import (
	"fmt"
	"testing"
)

// TestAxisNames lists headings by what they say.
func TestAxisNames(t *testing.T) {
	for _, c := range []struct {
		heading string
		at      string
		unit    Unit
	}{
		{"x,y,z", "[0 1 2]", ""}, {"Z,Y,X", "[2 1 0]", ""}, {"nr,X [m],Y [m],Z [m]", "[1 2 3]", Metre}, {"x_mm,y_mm,z_mm", "[0 1 2]", Millimetre},
		{"x (in),y (in),z (in)", "[0 1 2]", Inch}, {"x_normal,y_normal,z_normal,x,y,z", "[3 4 5]", ""}, {"x [m],y [mm],z [m]", "[0 1 2]", ""}, {"x [m],y [m],z [mm]", "[0 1 2]", ""},
		{"x [px],y [px],z [px]", "[0 1 2]", ""}, {"east,north,height", "none", ""}, {"x,y", "none", ""},
	} {
		at, unit, ok := axes(cells([]byte(c.heading), ','))
		got := fmt.Sprint(at)
		if !ok {
			got = "none"
		}
		if got != c.at || unit != c.unit {
			t.Errorf("%s: %s %q, want %s %q", c.heading, got, unit, c.at, c.unit)
		}
	}
}
