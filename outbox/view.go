package outbox

import (
	"cmp"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"html/template"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// solidView is what the report's view of the scanned panel needs: the numbers for its script, and a picture
// for where the script cannot run, and for print.
type solidView struct {
	Data    template.JS
	Picture template.HTML
	Span    float64 // mm, of the strongest colour
}

// The panel is first seen from above, outboard and a little ahead: turned and tilted by these, rad.
const (
	viewTurn = -0.45
	viewTilt = 0.62
)

// packed is the panel for the script. Places are in the frame of one who stands at the tip and looks
// inboard, from the middle of the panel: to the right, up, ahead; whole multiples of unit_mm.
type packed struct {
	Rows      int       `json:"rows"`
	Columns   int       `json:"columns"`
	Upper     int       `json:"upper"` // the first so many columns are the upper skin's
	UnitMM    float64   `json:"unit_mm"`
	SpanMM    float64   `json:"span_mm"`
	Turn      float64   `json:"turn"`
	Tilt      float64   `json:"tilt"`
	XMM       []float64 `json:"x_mm"`
	StationMM []float64 `json:"station_mm"`
	Places    string    `json:"places"`    // int16, three a point
	Departure string    `json:"departure"` // int16, micrometres; -32768 where nothing was seen
	U         string    `json:"u"`         // int16, micrometres
	Colours   string    `json:"colours"`   // three bytes a step, from -span to span
}

const colourSteps = 65

// newSolidView packs the mesh; nil if nothing of the panel was seen.
func newSolidView(g *skinMesh) (*solidView, error) {
	if len(g.faces()) == 0 {
		return nil, nil
	}
	p := packed{
		Rows: g.rows, Columns: g.cols, SpanMM: g.span, Turn: viewTurn, Tilt: viewTilt,
		XMM: rounded(g.x), StationMM: rounded(g.station),
	}
	for _, up := range g.upper {
		if up {
			p.Upper++
		}
	}
	places, reach := g.fromMiddle()
	p.UnitMM = reach / 32000
	at := make([]int16, 0, 3*len(g.nodes))
	departures, us := make([]int16, 0, len(g.nodes)), make([]int16, 0, len(g.nodes))
	for i, n := range g.nodes {
		for _, v := range []float64{places[i].X, places[i].Y, places[i].Z} {
			at = append(at, int16(math.Round(v/p.UnitMM)))
		}
		departures, us = append(departures, micrometres(n.departure, n.seen)), append(us, micrometres(n.u, n.seen))
	}
	p.Places, p.Departure, p.U = shorts(at), shorts(departures), shorts(us)
	var colours []byte
	for k := range colourSteps {
		c := departureColour(2*float64(k)/(colourSteps-1) - 1)
		colours = append(colours, c.R, c.G, c.B)
	}
	p.Colours = base64.StdEncoding.EncodeToString(colours)
	data, err := json.Marshal(p)
	if err != nil {
		return nil, fmt.Errorf("the view of the panel: %w", err)
	}
	return &solidView{Data: template.JS(data), Picture: inline(g.picture(places)), Span: g.span}, nil
}

func rounded(v []float64) []float64 {
	out := make([]float64, len(v))
	for i, x := range v {
		out[i] = decimals(x, 1)
	}
	return out
}

// micrometres holds a length, mm, in two bytes.
func micrometres(v float64, seen bool) int16 {
	if !seen {
		return math.MinInt16
	}
	return int16(math.Round(1000 * math.Max(math.Min(v, 32.7), -32.7)))
}

// shorts packs numbers, the low byte first.
func shorts(v []int16) string {
	b := make([]byte, 0, 2*len(v))
	for _, x := range v {
		b = append(b, byte(uint16(x)), byte(uint16(x)>>8))
	}
	return base64.StdEncoding.EncodeToString(b)
}

// fromMiddle returns every point of the nominal in the frame of one who stands at the tip and looks inboard,
// from the middle of the panel, and the largest coordinate, mm.
func (g *skinMesh) fromMiddle() (places []r3.Vec, reach float64) {
	lo, hi := r3.Vec{X: math.Inf(1), Y: math.Inf(1), Z: math.Inf(1)}, r3.Vec{X: math.Inf(-1), Y: math.Inf(-1), Z: math.Inf(-1)}
	places = make([]r3.Vec, 0, len(g.nodes))
	for _, n := range g.nodes {
		q := r3.Vec{X: g.inboard * n.base.X, Y: n.base.Z, Z: g.inboard * n.base.Y}
		places = append(places, q)
		lo = r3.Vec{X: math.Min(lo.X, q.X), Y: math.Min(lo.Y, q.Y), Z: math.Min(lo.Z, q.Z)}
		hi = r3.Vec{X: math.Max(hi.X, q.X), Y: math.Max(hi.Y, q.Y), Z: math.Max(hi.Z, q.Z)}
	}
	middle := r3.Scale(0.5, r3.Add(lo, hi))
	reach = 1
	for i, q := range places {
		places[i] = r3.Sub(q, middle)
		reach = math.Max(reach, math.Max(math.Abs(places[i].X), math.Max(math.Abs(places[i].Y), math.Abs(places[i].Z))))
	}
	return places, reach
}

// turned returns a point as it is first seen: to the right, up, and how far away.
func turned(p r3.Vec) (at r2.Vec, away float64) {
	s, c := math.Sincos(viewTurn)
	x, z := c*p.X+s*p.Z, -s*p.X+c*p.Z
	s, c = math.Sincos(viewTilt)
	return vec(x, c*p.Y+s*z), -s*p.Y + c*z
}

// picture draws the panel as it is first seen, farther faces first. places are those of fromMiddle.
func (g *skinMesh) picture(places []r3.Vec) *picture {
	const width, margin, most = 900.0, 16.0, 64
	at := make([]r2.Vec, len(places))
	away := make([]float64, len(places))
	lo, hi := vec(math.Inf(1), math.Inf(1)), vec(math.Inf(-1), math.Inf(-1))
	for i, p := range places {
		at[i], away[i] = turned(p)
		lo, hi = corners(lo, hi, at[i])
	}
	scale := (width - 2*margin) / (hi.X - lo.X)
	p := &picture{title: "The scanned panel from above and outboard, coloured by departure: blue is low, orange is high, grey was not seen",
		width: width, height: (hi.Y-lo.Y)*scale + 2*margin}
	for i, q := range at {
		at[i] = vec(margin+(q.X-lo.X)*scale, margin+(hi.Y-q.Y)*scale)
	}
	faces := g.coarse(max(1, g.rows/14), max(1, g.cols/most))
	slices.SortStableFunc(faces, func(a, b [4]int) int {
		return cmp.Compare(away[b[0]]+away[b[2]], away[a[0]]+away[a[2]])
	})
	for _, f := range faces {
		t := g.tone(f)
		m := p.area(t, []r2.Vec{at[f[0]], at[f[1]], at[f[2]], at[f[3]]})
		m.stroke, m.width = t, 0.7
	}
	tip := make([]r2.Vec, g.cols)
	for j := range tip {
		tip[j] = at[j]
	}
	p.line(ink, 1.6, tip...)
	return p
}

// coarse returns faces that take together several rows and columns of the mesh.
func (g *skinMesh) coarse(rows, cols int) [][4]int {
	var out [][4]int
	for i := 0; i < g.rows-1; i += rows {
		for j := 0; j < g.cols-1; j += cols {
			i2, j2 := min(i+rows, g.rows-1), min(j+cols, g.cols-1)
			out = append(out, [4]int{i*g.cols + j, i2*g.cols + j, i2*g.cols + j2, i*g.cols + j2})
		}
	}
	return out
}

// tone returns the colour of a coarse face by the mean of what was seen on it.
func (g *skinMesh) tone(f [4]int) tone {
	sum, count := 0.0, 0.0
	for i := f[0] / g.cols; i <= f[2]/g.cols; i++ {
		for j := f[0] % g.cols; j <= f[2]%g.cols; j++ {
			if n := g.nodes[i*g.cols+j]; n.seen {
				sum += n.departure / g.span
				count++
			}
		}
	}
	if count == 0 {
		return rule
	}
	share := sum / count
	step := int(math.Abs(share)*fillTones+0.5) - 1
	switch {
	case step < 0:
		return skin
	case share < 0:
		return low(step)
	}
	return high(step)
}
