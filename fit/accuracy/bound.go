package accuracy

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"tipwright/section"
	"tipwright/section/airfoil"
	"tipwright/section/simulate"
)

// The Cramér-Rao bound. n points with independent normal noise of standard deviation σ along the skin's normals carry
// the information J'J/σ², where a row of J is the derivative of a point's distance from the skin, along its normal, by
// the parameters; no unbiased estimate has less variance than its inverse (Kay, Fundamentals of Statistical Signal
// Processing I, 1993, ch. 3; from memory).

// The parameters of the bound: the section's turn and place at the tip rib, and how it changes along the span.
const (
	turnBound    = iota // rad, nose up
	aftBound            // mm
	upBound             // mm
	chordBound          // mm
	taperBound          // mm per mm
	twistBound          // rad per mm
	sweepBound          // mm per mm
	riseBound           // mm per mm
	deflectBound        // rad
	offsetBound         // mm, of the skin; the measurement does not take it for known
	boundParameters
)

// information returns J'J summed over the points of both skins that a scan holds, all known to be where they are. The
// points lie evenly by area, so that the sum is the points' number times the mean over the skin, here on a fine grid.
func information(w *simulate.Wing, points int) *mat.SymDense {
	const rows = 60
	outline := w.Airfoil.Outline(2001)
	sum := mat.NewSymDense(boundParameters, nil)
	weights := 0.0
	for i := range rows {
		station := w.Span * (float64(i) + 0.5) / rows
		chord := w.ChordAt(station)
		for k := 1; k < len(outline); k++ {
			d := r2.Sub(outline[k], outline[k-1])
			length := r2.Norm(d)
			if length == 0 {
				continue
			}
			q := r2.Scale(0.5, r2.Add(outline[k], outline[k-1]))
			n := r2.Scale(1/length, r2.Vec{X: d.Y, Y: -d.X})
			j := mat.NewVecDense(boundParameters, derivatives(w, q, n, station))
			sum.SymRankOne(sum, length*chord, j)
			weights += length * chord
		}
	}
	sum.ScaleSym(float64(points)/weights, sum)
	return sum
}

// derivatives returns how far the skin moves along its normal when a parameter grows by one. The wing is neither
// twisted nor deflected, which changes the bound little.
func derivatives(w *simulate.Wing, q, n r2.Vec, station float64) []float64 {
	p := r2.Scale(w.ChordAt(station), q)
	turn := n.X*p.Y - n.Y*p.X // of the place, by an angle that lowers what lies aft
	j := make([]float64, boundParameters)
	j[turnBound], j[twistBound] = turn, station*turn
	j[aftBound], j[sweepBound] = n.X, station*n.X
	j[upBound], j[riseBound] = n.Y, station*n.Y
	j[chordBound], j[taperBound] = r2.Dot(n, q), station*r2.Dot(n, q)
	j[offsetBound] = 1
	if q.X > w.Hinge {
		arm := r2.Sub(p, r2.Scale(w.ChordAt(station), r2.Vec{X: w.Hinge, Y: w.HingeZ}))
		j[deflectBound] = n.X*arm.Y - n.Y*arm.X
	}
	return j
}

// CramerRao returns the least standard deviation that each parameter can have.
func CramerRao(w *simulate.Wing, points int, noise float64) ([]float64, error) {
	var inverse mat.Dense
	if err := inverse.Inverse(information(w, points)); err != nil {
		return nil, err
	}
	out := make([]float64, boundParameters)
	for i := range out {
		out[i] = noise * math.Sqrt(inverse.At(i, i))
	}
	return out, nil
}

// BoundScan is one scan with nothing but noise: its errors over the bound.
type BoundScan struct {
	Seed   uint64             `json:"seed"`
	Ratios map[string]float64 `json:"ratios"`
	Errors map[string]float64 `json:"errors"`
}

// BoundRatio is a quantity's rms error over the bound.
type BoundRatio struct {
	Name  string
	RMS   float64
	Ratio float64 // root mean square of error over bound
	Scans int
}

const (
	boundSeed   = 800_000
	boundScans  = 40
	boundPoints = 150_000
	boundNoise  = 0.5
)

// The quantities of the bound beside those of the table.
const (
	Incidence = "incidence at the tip rib" // deg
	PlaceAft  = "place aft"                // mm
	PlaceUp   = "place up"                 // mm
)

// boundCase is a wing built to its drawing and scanned with independent noise and nothing else. Its scale is known.
func boundCase(seed uint64) Case {
	r := rand.New(rand.NewPCG(seed, 4))
	a, err := airfoil.Parse(sections[r.IntN(len(sections))])
	if err != nil {
		panic(err) // the designations are ours
	}
	return Case{
		Wing: simulate.Wing{Airfoil: a, Side: section.Left + section.Side(r.IntN(2)), Chord: between(r, 900, 1450), Span: between(r, 550, 850),
			Taper: between(r, 0, 0.06), Hinge: between(r, 0.74, 0.8)},
		Scan:       simulate.Scanner{Seed: seed, Points: boundPoints, Noise: boundNoise, RandomPose: true, RibFace: simulate.Closed},
		TrustScale: true,
	}
}

// MeasureBound makes and measures one such scan.
func MeasureBound(k int) (BoundScan, error) {
	c := boundCase(uint64(boundSeed + k))
	out := BoundScan{Seed: c.Scan.Seed}
	s, truth, err := simulate.Scan(c.Wing, c.Scan)
	if err != nil {
		return out, err
	}
	r, err := c.measure(s, truth)
	if err != nil {
		return out, err
	}
	bound, err := CramerRao(&c.Wing, boundPoints, boundNoise)
	if err != nil {
		return out, err
	}
	f := figures(r, truth)
	// The measured section frame seen in the true one, both in the tip rib's plane.
	move := truth.WingFromScan.After(r.Survey.WingFromScan.Inverse())
	origin, aft := move.Apply(r3.Vec{}), move.Rotate(r3.Vec{X: 1})
	out.Errors = map[string]float64{
		Chord: f[Chord].Error, Twist: f[Twist].Error, Aileron: f[Aileron].Error,
		Incidence: -math.Atan2(aft.Z, aft.X) / degree, PlaceAft: origin.X, PlaceUp: origin.Z,
	}
	least := map[string]float64{
		Chord: bound[chordBound], Twist: bound[twistBound] * perMetre / degree, Aileron: bound[deflectBound] / degree,
		Incidence: bound[turnBound] / degree, PlaceAft: bound[aftBound], PlaceUp: bound[upBound],
	}
	out.Ratios = map[string]float64{}
	for name, e := range out.Errors {
		out.Ratios[name] = e / least[name]
	}
	return out, nil
}

// Bounds takes the scans together.
func Bounds(scans []BoundScan) (out []BoundRatio) {
	for _, name := range []string{Chord, Twist, Aileron, Incidence, PlaceAft, PlaceUp} {
		b := BoundRatio{Name: name, Scans: len(scans)}
		for _, s := range scans {
			b.RMS += s.Errors[name] * s.Errors[name]
			b.Ratio += s.Ratios[name] * s.Ratios[name]
		}
		n := math.Max(float64(len(scans)), 1)
		b.RMS, b.Ratio = math.Sqrt(b.RMS/n), math.Sqrt(b.Ratio/n)
		out = append(out, b)
	}
	return out
}
