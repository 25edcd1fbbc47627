package section

import (
	"math"

	"gonum.org/v1/gonum/floats"
)

// edgeLikelihood tells how likely the counts of one band are for places of the edge, if the tail has one shape.
type edgeLikelihood struct {
	counts *edgeCounts
	table  *edgeTable
	all    [2]float64
	sums   [2][]float64 // by the whole steps by which bins and table are shifted; NaN: not yet asked for
}

func newEdgeLikelihood(c *edgeCounts, t *edgeTable) *edgeLikelihood {
	l := &edgeLikelihood{counts: c, table: t}
	for side, bins := range c.bins {
		for _, n := range bins {
			l.all[side] += n
		}
		l.sums[side] = make([]float64, len(t.log)-len(bins)+1)
	}
	l.forget()
	return l
}

// forget is called when the table has changed.
func (l *edgeLikelihood) forget() {
	for _, sums := range l.sums {
		for i := range sums {
			sums[i] = math.NaN()
		}
	}
}

// at returns the logarithm of the likelihood that the middle of the edge lies at a place, mm aft of the loft's tail. Bins
// and table have the same steps, so all bins lie at the same share of the way between two values of the table.
func (l *edgeLikelihood) at(edge float64) (sum float64) {
	c, t := l.counts, l.table
	for side, bins := range c.bins {
		end := edge + t.tilt - 2*float64(side)*t.tilt
		v := (c.lo + edgeStep/2 - end - t.from) / edgeStep
		k := min(max(int(v), 0), len(l.sums[side])-2)
		share := v - float64(k)
		sum += (1-share)*l.shifted(side, k) + share*l.shifted(side, k+1)
		hi := c.lo + float64(len(bins))*edgeStep
		sum -= l.all[side] * math.Log(t.at(t.integral, hi-end)-t.at(t.integral, c.lo-end))
	}
	return sum
}

// shifted returns the sum over the bins of one side, each against the table's value k steps on.
func (l *edgeLikelihood) shifted(side, k int) float64 {
	sum := &l.sums[side][k]
	if math.IsNaN(*sum) {
		*sum = floats.Dot(l.counts.bins[side], l.table.log[k:k+len(l.counts.bins[side])])
	}
	return *sum
}

// edge returns the likeliest place of the edge within reach of another and its standard uncertainty, mm.
func (l *edgeLikelihood) edge(about, reach float64) (at, u float64) {
	best := math.Inf(-1)
	at = about
	for _, step := range []float64{2 * edgeStep, edgeStep / 2, edgeStep / 8} {
		middle, n := at, math.Ceil(reach/step)
		for k := -n; k <= n; k++ {
			if d := l.at(middle + k*step); d > best {
				at, best = middle+k*step, d
			}
		}
		reach = step
	}
	return at, standardError(func(h float64) float64 {
		return best - (l.at(at-h)+l.at(at+h))/2
	})
}

// standardError returns the standard error of a parameter from how much the logarithm of the likelihood falls when it
// moves by h either way: a half at one standard error. A step in the density gives a likelihood with corners, so it is
// taken a little way off.
func standardError(fall func(h float64) float64) float64 {
	for h := 0.02; h < edgeSearch/2; h *= 2 {
		if d := fall(h); d >= 0.5 {
			return h / math.Sqrt(2*d)
		}
	}
	return edgeSearch / 2
}
