package outbox

import (
	"bytes"
	"encoding/csv"
	"math"
	"strconv"
	"testing"

	"tipwright/section"
	"tipwright/section/airfoil"
)

// rowsOf reads a table; each row is by column name.
func rowsOf(t *testing.T, data []byte) []map[string]string {
	t.Helper()
	all, err := csv.NewReader(bytes.NewReader(data)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out []map[string]string
	for _, r := range all[1:] {
		row := map[string]string{}
		for i, name := range all[0] {
			row[name] = r[i]
		}
		out = append(out, row)
	}
	return out
}

func cell(t *testing.T, row map[string]string, name string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(row[name], 64)
	if err != nil {
		t.Fatalf("%s: %q", name, row[name])
	}
	return v
}

// The table's nominal is the airfoil by formula; its skin lies off it by the departure, and aft of the hinge
// it is turned down about the hinge as the aileron was.
func TestSectionTable(t *testing.T) {
	d := sampleDelivery(t, section.Left)
	a, err := airfoil.Parse("NACA 23012")
	if err != nil {
		t.Fatal(err)
	}
	rows := rowsOf(t, sectionCSV(&d))
	if len(rows) != len(d.Result.Sections) {
		t.Fatalf("%d rows", len(rows))
	}
	hinge := 0.78 * sampleChord
	for _, row := range rows {
		x, z := cell(t, row, "nominal_x_mm"), cell(t, row, "nominal_z_mm")
		surface := a.Upper
		if row["surface"] == "lower" {
			surface = a.Lower
		}
		if want := sampleChord * surface(x/sampleChord); x > 5 && math.Abs(z-want) > 0.01 {
			t.Errorf("%s skin at %.1f: z %.3f, want %.3f", row["surface"], x, z, want)
		}
		bx, bz := cell(t, row, "as_built_x_mm"), cell(t, row, "as_built_z_mm")
		off := math.Hypot(bx-x, bz-z)
		switch departure := cell(t, row, "departure_mm"); {
		case x < hinge-5 && math.Abs(off-math.Abs(departure)) > 0.001:
			t.Errorf("at %.1f the skin lies %.3f off, the departure is %.3f", x, off, departure)
		case x > hinge+100:
			// Turned by 0.0351 rad: down by nearly that times the way aft of the hinge.
			if sunk := z - bz; math.Abs(sunk-0.0351*(x-hinge)) > 1.5 {
				t.Errorf("at %.1f the aileron hangs %.2f mm", x, sunk)
			}
		}
		if out := (bz - z) * map[string]float64{"upper": 1, "lower": -1}[row["surface"]]; x > 100 && x < hinge-5 && out*cell(t, row, "departure_mm") < 0 {
			t.Errorf("at %.1f the skin lies %.3f out of the nominal, the departure is %s", x, out, row["departure_mm"])
		}
		tx, tz := cell(t, row, "target_x_mm"), cell(t, row, "target_z_mm")
		if off := math.Hypot(tx-x, tz-z); math.Abs(off-math.Abs(cell(t, row, "form_mm"))) > 0.001 {
			t.Errorf("at %.1f the target lies %.3f off", x, off)
		}
	}
}

func TestDeparturesTable(t *testing.T) {
	d := sampleDelivery(t, section.Right)
	m := &d.Result.Survey.Map
	rows := rowsOf(t, departuresCSV(&d))
	if len(rows) != len(m.Cells) {
		t.Fatalf("%d rows for %d cells", len(rows), len(m.Cells))
	}
	inBand := 0
	for k, row := range rows {
		c := m.Cells[k]
		if (c.N == 0) != (row["departure_mm"] == "") || (c.N == 0) != (row["seen"] == "0") {
			t.Fatalf("row %d: %v of %+v", k, row, c)
		}
		if row["side"] != "right" {
			t.Fatalf("row %d is of the side %q", k, row["side"])
		}
		if c.N > 0 && (math.Abs(cell(t, row, "departure_mm")-c.Departure) > 1e-4 || math.Abs(cell(t, row, "u_mm")-2*c.SE) > 1e-4) {
			t.Fatalf("row %d: %v of %+v", k, row, c)
		}
		if row["to_target_mm"] != "" {
			inBand++
			want := sampleForm(cell(t, row, "arc_mm")) - c.Departure
			if got := cell(t, row, "to_target_mm"); math.Abs(got-want) > 1e-3 {
				t.Fatalf("row %d: %v to the target, want %v", k, got, want)
			}
			if form := cell(t, row, "form_mm"); math.Abs(form-sampleForm(cell(t, row, "arc_mm"))) > 1e-3 {
				t.Fatalf("row %d: the form is %v", k, form)
			}
		}
	}
	seen := 0
	for _, s := range d.Result.Map.Seen {
		if s {
			seen++
		}
	}
	if inBand != seen {
		t.Errorf("%d cells tell the way to the target, %d are seen in the band", inBand, seen)
	}
}
