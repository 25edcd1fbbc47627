package airfoil

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
)

// code reads a text and returns the codes of its messages, one after another.
func code(t *testing.T, text string) (*Airfoil, string) {
	t.Helper()
	a := read(t, text)
	var all []string
	for _, m := range a.Messages() {
		all = append(all, m.Code)
	}
	return a, strings.Join(all, " ")
}

// TestReadRemarks passes over what people write above and below the points, also where it begins with a number.
func TestReadRemarks(t *testing.T) {
	u, l := tip(t, 60)
	plain := lines("%.6f %.6f", round(u, l))
	for text, want := range map[string]string{
		"tip\n12% thick, drawn for the shop\n" + plain:             "",
		"tip\n9 mm spar at 30 %\n" + plain:                         "",
		"tip\n" + plain + "\nsee the drawing of 1998\n":            "",
		"tip\n" + plain + "\n28/12/2005    1.000733  -->1.0\n":     "airfoil-remark",
		"tip\n" + plain + "\n9%_1.4%_CM0=0.015\nsee the drawing\n": "airfoil-remark",
		"tip\n" + plain + "1.58 nose radius\n":                     "airfoil-remark",
	} {
		a, codes := code(t, text)
		if codes != want || a.Name != "tip" {
			t.Errorf("%q: called %q, %s", text[:40], a.Name, codes)
		}
	}
	half := len(plain) / 2
	half += strings.IndexByte(plain[half:], '\n') + 1
	for _, text := range []string{plain[:half] + "9% from here\n" + plain[half:], plain + "0.95 l.01\n", plain + "0.95\n"} {
		if _, err := Read(strings.NewReader(text), "tip.dat"); err == nil || !strings.Contains(err.Error(), "is not a point") {
			t.Errorf("got %v", err)
		}
	}
}

// TestReadFirstPointFarFromTheChord keeps a first point that lies off the chord's own range next to its follower.
func TestReadFirstPointFarFromTheChord(t *testing.T) {
	u, l := tip(t, 60)
	text := "duct\n" + lines("%.6f %.6f", moved(round(u, l), 1, r2.Vec{Y: -1.66}))
	a, _ := code(t, text)
	if a.Name != "duct" {
		t.Errorf("it is called %q", a.Name)
	}
	near(t, "tail", a.TailThickness(), 2*0.0105*0.12, 3e-6)
}

// TestReadReportTables reads tables of reports, which give both surfaces on each line.
func TestReadReportTables(t *testing.T) {
	want := must(t, "NACA 2412")
	var three, four strings.Builder
	u, l := surfacesOf(want, cosine(60))
	for i := range u {
		fmt.Fprintf(&four, "%.4f %.4f %.4f %.4f\n", 100*u[i].X, 100*u[i].Y, 100*l[i].X, 100*l[i].Y)
		x := 0.5 * float64(i*i) / 1740.5
		fmt.Fprintf(&three, "%.6f\t%.6f\t%.6f\n", x, want.Upper(x), want.Lower(x))
	}
	for name, text := range map[string]string{"stations": "station upper lower\n" + three.String(), "printed": "2412\n" + four.String()} {
		a, codes := code(t, text)
		if !strings.HasPrefix(codes, "airfoil-table") {
			t.Errorf("%s: %s", name, codes)
		}
		for x := 0.05; x <= 0.99; x += 0.05 {
			near(t, fmt.Sprintf("%s: upper at %.2f", name, x), a.Upper(x), want.Upper(x), 5e-5)
			near(t, fmt.Sprintf("%s: lower at %.2f", name, x), a.Lower(x), want.Lower(x), 5e-5)
		}
	}
}

// TestReadWrongCounts takes two whole blocks whose counts are wrong, and says so.
func TestReadWrongCounts(t *testing.T) {
	u, l := tip(t, 40)
	_, codes := code(t, "tip\n40 41\n"+lines("%.6f %.6f", u)+lines("%.6f %.6f", l))
	if codes != "airfoil-counts" {
		t.Errorf("got %s", codes)
	}
}

// TestReadBentPlate takes a bent plate, whose camber is larger than its thickness, with a caution.
func TestReadBentPlate(t *testing.T) {
	var u, l []r2.Vec
	for _, x := range cosine(80) {
		mean, half := 0.24*x*(1-x), must(t, "NACA 0003").Upper(x)
		u, l = append(u, r2.Vec{X: x, Y: mean + half}), append(l, r2.Vec{X: x, Y: mean - half})
	}
	a, codes := code(t, lines("%.6f %.6f", round(u, l)))
	if codes != "airfoil-bent" {
		t.Errorf("got %s", codes)
	}
	thickness, _ := a.Thickness()
	near(t, "thickness", thickness, 0.03, 2e-4)
}

// oddity is a file with a whole outline that stands in it in an unusual way, and the messages about it.
type oddity struct{ text, codes string }

// oddities writes one outline of n points a surface in unusual ways.
func oddities(t testing.TB, n int) map[string]oddity {
	u, l := tip(t, n)
	once := round(u, l)
	plain := lines("%.6f %.6f", once)
	var numbered, table strings.Builder
	for i, p := range once {
		fmt.Fprintf(&numbered, "%d %.6f %.6f\n", i+1, p.X, p.Y)
	}
	for i := range u {
		fmt.Fprintf(&table, "%.6f %.6f %.6f %.6f\n", u[i].X, u[i].Y, l[i].X, l[i].Y)
	}
	from := 2 * n / 3 // an outline that begins on the upper surface, of a closed tail
	begun := append(append(append([]r2.Vec{}, once[from:]...), once[:from]...), once[from])
	var backwards []r2.Vec
	for _, p := range once {
		backwards = append(backwards, r2.Vec{X: 1 - p.X, Y: p.Y})
	}
	backwards = append(backwards[:len(backwards)-1], backwards[0]) // closed behind its nose
	return map[string]oddity{
		"numbered":              {numbered.String(), ""},
		"one column the same":   {lines("%.6f 1525.0 %.6f", once), ""},
		"first column the same": {lines("1525 %.6f %.6f", once), ""},
		"braces":                {lines("{%.6f, %.6f},", once), ""},
		"a window of the grid":  {"tip\n-2.0 3.0 -2.5 3.5\n" + plain, ""},
		"begun on a surface":    {lines("%.6f %.6f", begun), ""},
		"more curves":           {"tip\nX,Y\n" + lines("%.6f,%.6f", once) + "\nMean line\n0,0\n0.5,0.02\n1,0\nChord line,\n0,0\n1,0\n", "airfoil-more"},
		"from the tail":         {lines("%.6f %.6f", backwards), "airfoil-reversed"},
		"a printed table":       {"tip\n" + table.String(), "airfoil-table"},
	}
}

func TestReadOddOutlines(t *testing.T) {
	for name, c := range oddities(t, 60) {
		a, codes := code(t, c.text)
		if codes != c.codes {
			t.Errorf("%s: %s", name, codes)
		}
		if d, at := apart(a.Outline(2001), must(t, "NACA 23012").Outline(2001)); d > 3e-4 {
			t.Errorf("%s: %.2g of the chord off at x = %.3f", name, d, at.X)
		}
	}
}

// TestReadEveryByte changes every byte of a few short files in turn and cuts them everywhere: a refusal or a section
// comes out.
func TestReadEveryByte(t *testing.T) {
	all := oddities(t, 13)
	for _, name := range []string{"a printed table", "numbered"} {
		good := []byte(all[name].text)
		data := bytes.Clone(good)
		for at, was := range good {
			if err := whole(good[:at]); err != nil {
				t.Fatalf("%s, cut at %d: %v", name, at, err)
			}
			for _, to := range []byte{was ^ 1} {
				data[at] = to
				if err := whole(data); err != nil {
					t.Fatalf("%s, byte %d made %q: %v", name, at, to, err)
				}
			}
			data[at] = was
		}
	}
}

// TestReadTiltedAxis cautions about an axis well off the line from nose to tail.
func TestReadTiltedAxis(t *testing.T) {
	u, l := tip(t, 60)
	tilted := round(u, l)
	for i, p := range tilted {
		tilted[i].Y -= 0.035 * p.X
	}
	if _, codes := code(t, lines("%.6f %.6f", tilted)); codes != "airfoil-tilted" {
		t.Errorf("got %s", codes)
	}
}

// TestReadRefusesAWideNose says what is missing where equal steps pass the nose by.
func TestReadRefusesAWideNose(t *testing.T) {
	a := must(t, "NACA 0012")
	var x []float64
	for i := range 21 {
		x = append(x, float64(i)/20)
	}
	u, l := surfacesOf(a, x)
	if _, err := Read(strings.NewReader(lines("%.6f %.6f", round(u, l))), "tip.dat"); err == nil || !strings.Contains(err.Error(), "too far to tell the nose") {
		t.Errorf("got %v", err)
	}
}

// TestReadThinOldTable takes a thin section whose first station is 2.5 per cent, as old tables have it, with a caution.
func TestReadThinOldTable(t *testing.T) {
	a := must(t, "NACA 0006")
	x := []float64{0, 0.025, 0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1}
	u, l := surfacesOf(a, x)
	b, codes := code(t, lines("%.6f %.6f", round(u, l)))
	if codes != "airfoil-coarse" {
		t.Errorf("got %s", codes)
	}
	thickness, _ := b.Thickness()
	near(t, "thickness", thickness, 0.06, 1e-3)
}
