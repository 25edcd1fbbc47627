package outbox

import (
	"bytes"
	"encoding/csv"
	"math"
	"strings"

	"tipwright/fit"
	"tipwright/outbox/draw"
)

// table writes comma-separated values (RFC 4180, but for lines that end in a plain line feed).
type table struct {
	buf bytes.Buffer
	csv *csv.Writer
}

func newTable(columns ...string) *table {
	t := &table{}
	t.csv = csv.NewWriter(&t.buf)
	t.row(columns...)
	return t
}

// row adds one row. Writing into memory cannot fail.
func (t *table) row(cells ...string) { _ = t.csv.Write(cells) }

func (t *table) bytes() []byte {
	t.csv.Flush()
	return t.buf.Bytes()
}

// number writes a number with four decimals, a value that is not known as an empty cell.
func number(v float64) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return ""
	}
	return string(appendRounded(nil, v, 4, false))
}

// plainText makes a text cell of one legible line that no spreadsheet takes for a formula. (OWASP's page on CSV
// injection, from memory: a cell that begins with =, +, - or @ may be run, spaces before it or not.)
func plainText(s string) string {
	s = draw.LegibleLine(s)
	if begin := strings.TrimLeft(s, " "); begin != "" && strings.ContainsAny(begin[:1], "=+-@") {
		return "'" + s
	}
	return s
}

func yes(b bool) string {
	if b {
		return "1"
	}
	return "0"
}

// sectionCSV writes the section at the tip rib: nominal with the aileron faired, as built with the aileron
// as it stood, target with the aileron at the designer's neutral. Departure and form refer to the aileron's
// first estimated angle; less aileron_turn_mm they are those with the aileron faired.
func sectionCSV(d *Delivery) []byte {
	res, sv := d.Result, d.Result.Survey
	t := newTable("aircraft", "side", "surface", "arc_mm", "nominal_x_mm", "nominal_z_mm", "as_built_x_mm", "as_built_z_mm",
		"target_x_mm", "target_z_mm", "departure_mm", "departure_u_mm", "form_mm", "aileron_turn_mm", "seen")
	skin := newNeutralSkin(sv)
	standing := 0.0
	if sv.Deflection != nil {
		standing = sv.Loft.Deflection
	}
	for _, s := range res.Sections {
		nominal := skin.at(s.Arc, 0, 0)
		built := skin.at(s.Arc, s.Departure.Value, standing)
		target := skin.at(s.Arc, s.Target, d.Sheet.Droop)
		row := []string{plainText(d.Identity.Aircraft), d.Identity.Side, string(surfaceOf(&sv.Map, s.Arc)), number(s.Arc)}
		for _, v := range []float64{nominal.X, nominal.Y, built.X, built.Y, target.X, target.Y,
			s.Departure.Value, s.Departure.U, s.Form, s.Turn} {
			row = append(row, number(v))
		}
		t.row(append(row, yes(s.Seen))...)
	}
	return t.bytes()
}

// departuresCSV writes the whole map: a row a cell, those that no scan shows with empty figures. In the
// filler band it also tells what is missing to the target, and the form: the long-wave part of the departure,
// which the target follows.
func departuresCSV(d *Delivery) []byte {
	m := &d.Result.Survey.Map
	t := newTable("side", "surface", "x_mm", "arc_mm", "station_mm", "departure_mm", "u_mm", "to_target_mm", "to_target_u_mm", "form_mm", "seen")
	skin := newNeutralSkin(d.Result.Survey)
	x, arcs := make([]string, len(m.Arc)), make([]string, len(m.Arc))
	for j, arc := range m.Arc {
		x[j], arcs[j] = number(math.Max(skin.at(arc, 0, 0).X, 0)), number(arc)
	}
	row := make([]string, 11)
	for i, st := range m.Station {
		station, band := number(st), bandRow(&d.Result.Map, st)
		for j, arc := range m.Arc {
			c := m.At(i, j)
			row = append(row[:0], d.Identity.Side, string(surfaceOf(m, arc)), x[j], arcs[j], station, "", "", "", "", "", yes(c.N > 0))
			if c.N > 0 {
				row[5], row[6] = number(c.Departure), number(2*c.SE)
			}
			if k := band + j; band >= 0 && len(d.Result.Map.Arc) == len(m.Arc) {
				row[9] = number(d.Result.Map.Form[k])
				if d.Result.Map.Seen[k] {
					row[7], row[8] = number(d.Result.Map.Depth[k]), number(d.Result.Map.U[k])
				}
			}
			t.row(row...)
		}
	}
	return t.bytes()
}

// bandRow returns the index of the first cell of the filler map's row at a station, -1 if it has none.
func bandRow(m *fit.FillerMap, station float64) int {
	for i, st := range m.Station {
		if math.Abs(st-station) < 1e-6 {
			return i * len(m.Arc)
		}
	}
	return -1
}
