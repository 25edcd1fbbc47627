package fit

import "math"

// drift is the part of a scan's noise that neighbouring points share: a random field of one size whose correlation falls
// off as a Gaussian, over and above noise that cells do not share.
//
// It is told from how much wider than independent cells the means of the seven windows scatter. What the form has taken
// up of it does not show in them, though it is in form, skin and target, and the longer the correlation the more it
// takes up: so the scatter is compared with what would be left of a field of each reach after the form's filter, and
// the uncertainties count the field in whole.
type drift struct {
	size2 float64 // mm^2, variance
	reach float64 // mm: correlation is exp(-h^2/2 reach^2) at a distance h
	white float64 // mm^4, variance of the rest times the area it is averaged over
	arc   float64 // mm of arc that the form averages over
	along float64 // mm of station that it averages over
}

// driftReaches are the reaches tried, mm.
func driftReaches() []float64 { return []float64{6, 9, 13, 19, 27, 38, 54, 76} }

// measureDrift fits the field to the scatter of the windows' means.
func (out *parted) measureDrift(p *panel, cut float64) {
	s, f := out.found, out.form
	ws := windows(true)
	if s == nil || len(s.widen) != len(ws) {
		return
	}
	d := &out.drift
	d.arc, d.along = formHalf*cut/2, p.span()/float64(f.orders)
	var whites []float64
	for i, k := range ws {
		whites = append(whites, square(s.usual[i])*4*math.Pi*k.arc*k.station)
	}
	d.white = median(whites)
	least := math.Inf(1)
	for _, reach := range driftReaches() {
		var xy, xx, yy float64
		for i, k := range ws {
			all := square(s.widen[i] * s.usual[i])
			if !(all > 0) {
				return
			}
			x, y := f.leftOf(k, reach, cut, p.span())/all, 1-1/square(s.widen[i])
			xy, xx, yy = xy+x*y, xx+x*x, yy+y*y
		}
		if cost := yy - xy*xy/xx; cost < least {
			least, d.size2, d.reach = cost, xy/xx, reach
		}
	}
}

// formHalf is the wave of which half passes to the form, in cuts; see the form's doc comment.
const formHalf = 0.242 / 0.27

// leftOf returns the variance, for a field of unit variance, of a window's mean of what the form's filter leaves. The
// field's spectrum is the product of one along the arc and one along the station; the form's orders along the station
// take what is longer than their share of the span.
func (f *form) leftOf(k kernel, reach, cut, span float64) float64 {
	const steps, most = 60, 4.0
	step := most / steps / reach // of the wave number, in 1/mm
	var arcs [2][3]float64       // window squared, with the form's response of either cut once and squared
	var stations [3]float64      // window squared: order nought, the other orders, and the rest
	for i := range steps {
		q := (float64(i) + 0.5) * step
		density := 2 * step * reach / math.Sqrt(2*math.Pi) * math.Exp(-square(q*reach)/2)
		a := density * math.Exp(-square(q*k.arc))
		for o := range arcs {
			t := response(q * cut * f.stretch(o) / (2 * math.Pi))
			arcs[o][0], arcs[o][1], arcs[o][2] = arcs[o][0]+a, arcs[o][1]+a*t, arcs[o][2]+a*t*t
		}
		band := 2
		if q < math.Pi/span {
			band = 0
		} else if q < math.Pi*float64(f.orders)/span {
			band = 1
		}
		stations[band] += density * math.Exp(-square(q*k.station))
	}
	left := stations[2] * arcs[0][0]
	for o := range arcs {
		left += stations[o] * (arcs[o][0] - 2*arcs[o][1] + arcs[o][2])
	}
	return left
}

// response returns what the form's filter passes of a wave, given the ratio of its cut to the wave's length.
func response(ratio float64) float64 {
	once := 1 / (1 + math.Pow(ratio, 8))
	return 1 - square(1-once)
}

// widening returns how much wider than independent cells the means under a window of the given standard deviation, mm,
// scatter about the truth.
func (out *parted) widening(size float64) float64 {
	seen, d := out.found.widening(size), &out.drift
	if !(d.white > 0) {
		return seen
	}
	passed := square(d.reach) / (square(d.reach) + 2*square(size))
	return math.Max(seen, math.Sqrt(1+d.size2*passed*4*math.Pi*square(size)/d.white))
}

// shared returns how much wider than that of independent cells the form's own error is.
func (out *parted) shared() float64 {
	if out.found == nil {
		return 1
	}
	seen, d := out.found.widen[len(out.found.widen)-1], &out.drift
	if !(d.white > 0) {
		return seen
	}
	passed := math.Erf(math.Pi*d.reach/d.arc/math.Sqrt2) * math.Erf(math.Pi*d.reach/d.along/math.Sqrt2)
	return math.Max(seen, math.Sqrt(1+d.size2*passed*d.arc*d.along/d.white))
}
