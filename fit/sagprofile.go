package fit

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// A skin that spars and stringers hold sags deeper in the middle of its panels than beside them, so that its stretches
// wave together but not equally far. How deep each of them sags against the deepest is read from the scan: wave and
// depths are those that together leave the least of the stretches' means (the first singular pair, by alternating least
// squares).
const (
	profileEven  = 0.4  // of the square of their mean over the mean of their squares: depths that have the same way
	profileWave  = 0.5  // of the wave's variance that one length explains; a single long spot has all lengths
	profileLeast = 0.06 // mm rms of a sag that is told so: the stretches are taken with what else stands out of them
	profileStep  = 1.05 // between the lengths that are tried
	profileTurns = 30
	ribBelow     = 0.2 // mm that the skin at the tip rib may lie below the crests before it is told
	profileBays  = 2.4 // waves at least that the panel must show: spots side by side come once
)

// profile is the share of a sag's full depth by arc.
type profile struct{ arc, share []float64 }

// at returns the share at an arc, level beyond the ends; without a profile it is 1.
func (p *profile) at(arc float64) float64 {
	if p.arc == nil {
		return 1
	}
	last := len(p.arc) - 1
	if arc <= p.arc[0] {
		return p.share[0]
	}
	for i := range last {
		if arc < p.arc[i+1] {
			t := (arc - p.arc[i]) / (p.arc[i+1] - p.arc[i])
			return p.share[i] + t*(p.share[i+1]-p.share[i])
		}
	}
	return p.share[last]
}

// findProfiles looks on each surface for a sag that varies along the chord, and notes how; it reports whether there is
// one. A surface without gets none.
func (out *parted) findProfiles(p *panel) (found bool) {
	var all [2]profile
	for side := range all {
		var ok bool
		if all[side], ok = sagProfile(p, out.stretches(p, side, true)); !ok {
			all[side] = profile{arc: []float64{p.nose}, share: []float64{0}}
		}
		found = found || ok
	}
	if found {
		out.form.sags, out.form.profiles = true, all
	}
	return found
}

// sagProfile returns the depths of the stretches' common wave; it reports false where they have none.
func sagProfile(p *panel, all []stretch) (profile, bool) {
	var seen []stretch
	for _, s := range all {
		n := 0
		for _, w := range s.weight {
			if w > 0 {
				n++
			}
		}
		if n > p.rows()*2/3 {
			seen = append(seen, s)
		}
	}
	if len(seen) < ribFewest {
		return profile{}, false
	}
	depth, wave := commonWave(p, seen)
	var sum, squares, waves, out float64
	for _, d := range depth {
		sum, squares = sum+d, squares+d*d
	}
	for _, v := range wave {
		waves += v * v
	}
	n := float64(len(depth))
	out = math.Sqrt(squares / n * waves / float64(len(wave)))
	if !(out > profileLeast) || sum*sum < profileEven*n*squares || oneLength(p, wave) < profileWave {
		return profile{}, false
	}
	pr, most := profile{}, 0.0
	for _, d := range depth {
		most = math.Max(most, d*math.Copysign(1, sum))
	}
	for i, d := range depth {
		pr.arc = append(pr.arc, seen[i].arc)
		pr.share = append(pr.share, math.Max(d*math.Copysign(1, sum)/most, 0))
	}
	return pr, true
}

// commonWave returns by how much each stretch waves, and the wave by row.
func commonWave(p *panel, all []stretch) (depth, wave []float64) {
	depth, wave = make([]float64, len(all)), make([]float64, p.rows())
	level := make([]float64, len(all))
	for k, s := range all {
		var sum, w float64
		for i, m := range s.mean {
			sum, w = sum+s.weight[i]*m, w+s.weight[i]
		}
		level[k], depth[k] = sum/w, 1
	}
	for range profileTurns {
		size := 0.0
		for i := range wave {
			var xy, xx float64
			for k, s := range all {
				xy, xx = xy+s.weight[i]*depth[k]*(s.mean[i]-level[k]), xx+s.weight[i]*depth[k]*depth[k]
			}
			wave[i] = xy / math.Max(xx, math.SmallestNonzeroFloat64)
			size += wave[i] * wave[i]
		}
		if size == 0 {
			return depth, wave
		}
		for k, s := range all {
			var xy, xx float64
			for i, v := range wave {
				xy, xx = xy+s.weight[i]*v*(s.mean[i]-level[k]), xx+s.weight[i]*v*v
			}
			depth[k] = xy / math.Max(xx, math.SmallestNonzeroFloat64)
		}
	}
	return depth, wave
}

// oneLength returns the most that a wave of one length, of those that ribs lie apart, explains of a wave's variance.
func oneLength(p *panel, wave []float64) (most float64) {
	for length := ribShortest; length < math.Min(ribLongest, p.span()/profileBays); length *= profileStep {
		normal, rhs := mat.NewSymDense(3, nil), mat.NewVecDense(3, nil)
		var sum, squares float64
		for i, y := range wave {
			sin, cos := math.Sincos(2 * math.Pi * p.station[i] / length)
			v := mat.NewVecDense(3, []float64{1, cos, sin})
			normal.SymRankOne(normal, 1, v)
			rhs.AddScaledVec(rhs, y, v)
			sum, squares = sum+y, squares+y*y
		}
		var x mat.VecDense
		level := sum * sum / float64(len(wave))
		if x.SolveVec(normal, rhs) == nil && squares > level {
			most = math.Max(most, (mat.Dot(&x, rhs)-level)/(squares-level))
		}
	}
	return most
}

// belowRibs returns how far the skin at the tip rib lies below the level of the sag's crests at an arc, mm. A rib at
// station 0 holds the skin up to that level. Where the scan shows the skin lower, either the rib or the skin is low
// there, and which of the two the finished tip should follow the scan does not tell.
func (f *form) belowRibs(arc float64) float64 {
	if !f.sags {
		return 0
	}
	_, crest, tip := f.alongRange(f.sag, arc)
	_, all, end := f.alongRange(f.at, arc) // the polynomials of the station hold some of the wave
	return math.Max(0, math.Max(crest-tip, all-end))
}
