package fit

import (
	"math"
	"slices"
)

// nodes is the grid on which skin and target are told: the columns of the map, and as rows station 0 and
// the map's rows within the filler band. An index is row·columns + column.
type nodes struct {
	p       *panel
	station []float64 // mm; the first is 0
	spread  []float64 // residual of the skin from the form, mm
	se      []float64 // its standard error, mm
	seen    []bool
	bump    []float64 // what the target is raised above the form, mm
}

func newNodes(p *panel, band float64) *nodes {
	n := &nodes{p: p, station: []float64{0}}
	for _, st := range p.station {
		if st > 0 && (st <= band || len(n.station) == 1) {
			n.station = append(n.station, st)
		}
	}
	size := len(n.station) * p.columns()
	n.spread, n.se, n.bump = make([]float64, size), make([]float64, size), make([]float64, size)
	n.seen = make([]bool, size)
	return n
}

// rowOf returns the panel's row that a row of nodes lies on; for station 0 the first.
func (n *nodes) rowOf(i int) int {
	first := 0
	for first < n.p.rows() && n.p.station[first] <= 0 {
		first++
	}
	return min(first+max(i-1, 0), n.p.rows()-1)
}

// at interpolates values of the nodes at an arc and a station: along the arc by the cubic of Catmull and
// Rom, so that outlines have no corners, along the station linearly. Beyond the outermost nodes the value
// stays.
func (n *nodes) at(v []float64, arc, station float64) float64 {
	i := 0
	for i+2 < len(n.station) && n.station[i+1] <= station {
		i++
	}
	lo := n.along(v, i, arc)
	if len(n.station) == 1 {
		return lo
	}
	t := (station - n.station[i]) / (n.station[i+1] - n.station[i])
	t = math.Min(math.Max(t, 0), 1)
	if t == 0 {
		return lo
	}
	return lo*(1-t) + t*n.along(v, i+1, arc)
}

func (n *nodes) along(v []float64, row int, arc float64) float64 {
	nc := n.p.columns()
	line := v[row*nc : (row+1)*nc]
	x := arc/n.p.dArc - 0.5
	j := min(max(int(math.Floor(x)), 0), nc-2)
	t := math.Min(math.Max(x-float64(j), 0), 1)
	b, c := line[j], line[j+1]
	a, d := b, c
	if j > 0 {
		a = line[j-1]
	}
	if j+2 < nc {
		d = line[j+2]
	}
	return b + t*((c-a)/2+t*((2*a-5*b+4*c-d)/2+t*(3*b-3*c+d-a)/2))
}

// cover spreads values over the nodes so that the result is smooth and nowhere below them: the greatest
// value within reach, averaged twice over half the reach each. The averages together look no farther than
// the maximum did.
func (n *nodes) cover(v []float64, reach float64) []float64 {
	nc, rows := n.p.columns(), len(n.station)
	out := append([]float64(nil), v...)
	arcs := newCovering(nc, func(a, b int) float64 { return math.Abs(float64(a-b)) * n.p.dArc }, reach)
	for i := range rows {
		line := out[i*nc : (i+1)*nc]
		if i > 0 && slices.Equal(v[i*nc:(i+1)*nc], v[(i-1)*nc:i*nc]) { // most have nothing but the nose
			copy(line, out[(i-1)*nc:i*nc])
			continue
		}
		arcs.line(line)
	}
	stations := newCovering(rows, func(a, b int) float64 { return math.Abs(n.station[a] - n.station[b]) }, reach)
	column := make([]float64, rows)
	for j := range nc {
		for i := range rows {
			column[i] = out[i*nc+j]
		}
		stations.line(column)
		for i, v := range column {
			out[i*nc+j] = v
		}
	}
	return out
}

// covering is cover along lines whose places lie alike.
type covering struct {
	far, near  [][2]int // by place: the first and the last within reach, and within half of it
	high, mean []float64
}

func newCovering(places int, distance func(a, b int) float64, reach float64) *covering {
	within := func(reach float64) [][2]int {
		out := make([][2]int, places)
		for i := range out {
			lo, hi := i, i
			for lo > 0 && distance(i, lo-1) <= reach {
				lo--
			}
			for hi+1 < places && distance(i, hi+1) <= reach {
				hi++
			}
			out[i] = [2]int{lo, hi}
		}
		return out
	}
	return &covering{within(reach), within(reach / 2), make([]float64, places), make([]float64, places)}
}

// line covers one line in its place.
func (c *covering) line(v []float64) {
	if !slices.ContainsFunc(v, func(v float64) bool { return v != 0 }) {
		return
	}
	for i, within := range c.far {
		c.high[i] = slices.Max(v[within[0] : within[1]+1])
	}
	c.average(c.mean, c.high)
	c.average(v, c.mean)
}

// average fills out with the means of v within half the reach, each added up from its place to the left, then to the right.
func (c *covering) average(out, v []float64) {
	for i, within := range c.near {
		sum := v[i]
		for k := i - 1; k >= within[0]; k-- {
			sum += v[k]
		}
		for _, x := range v[i+1 : within[1]+1] {
			sum += x
		}
		out[i] = sum / float64(within[1]-within[0]+1)
	}
}
