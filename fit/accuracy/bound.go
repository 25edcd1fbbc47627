package accuracy

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"tipwright/section"
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

// A wing is never built to its drawing, and no measurement can know that this one is. With a form of the wing unknown
// beside the parameters, of which no more is known than its size, the bound is what a measurement that leaves room for
// it can reach (the Bayesian information of Van Trees: what is expected of a parameter adds one over its variance;
// from memory). The form is here one cosine wave after the other on each skin, the same all along the span.
const (
	formWaves  = 6   // the shortest is a third of the chord long
	formSize   = 0.5 // mm, standard deviation expected of each
	formBound  = boundParameters
	allUnknown = boundParameters + 2*(formWaves+1)
)

// information returns J'J summed over the points of both skins that a scan holds, all known to be where they are. The
// points lie evenly by area, so that the sum is the points' number times the mean over the skin, here on a fine grid.
func information(w *simulate.Wing, points int) *mat.SymDense {
	const rows = 24
	outline := w.Airfoil.Outline(801)
	sum := mat.NewSymDense(allUnknown, nil)
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
			j := mat.NewVecDense(allUnknown, derivatives(w, q, n, station))
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
	j := make([]float64, allUnknown)
	j[turnBound], j[twistBound] = turn, station*turn
	j[aftBound], j[sweepBound] = n.X, station*n.X
	j[upBound], j[riseBound] = n.Y, station*n.Y
	j[chordBound], j[taperBound] = r2.Dot(n, q), station*r2.Dot(n, q)
	j[offsetBound] = 1
	if q.X > w.Hinge {
		arm := r2.Sub(p, r2.Scale(w.ChordAt(station), r2.Vec{X: w.Hinge, Y: w.HingeZ}))
		j[deflectBound] = n.X*arm.Y - n.Y*arm.X
	}
	first := formBound
	if n.Y < 0 {
		first += formWaves + 1
	}
	for k := range formWaves + 1 {
		j[first+k] = math.Cos(float64(k) * math.Pi * q.X)
	}
	return j
}

// CramerRao returns the least standard deviation that each parameter can have where the wing is known to be built to its
// drawing, and where it is not.
func CramerRao(w *simulate.Wing, points int, noise float64) (drawn, formed []float64, err error) {
	all := information(w, points)
	all.ScaleSym(1/(noise*noise), all)
	known := mat.NewSymDense(boundParameters, nil)
	known.CopySym(all)
	for i := formBound; i < allUnknown; i++ {
		all.SetSym(i, i, all.At(i, i)+1/(formSize*formSize))
	}
	if drawn, err = deviations(known); err != nil {
		return nil, nil, err
	}
	formed, err = deviations(all)
	return drawn, formed, err
}

// deviations returns the roots of the diagonal of the inverse, for the wing's parameters. The parameters differ by many
// powers of ten, so the matrix is brought to a diagonal of ones first.
func deviations(information *mat.SymDense) ([]float64, error) {
	n := information.SymmetricDim()
	even := mat.NewSymDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			even.SetSym(i, j, information.At(i, j)/math.Sqrt(information.At(i, i)*information.At(j, j)))
		}
	}
	var inverse mat.Dense
	if err := inverse.Inverse(even); err != nil {
		return nil, err
	}
	out := make([]float64, boundParameters)
	for i := range out {
		out[i] = math.Sqrt(inverse.At(i, i) / information.At(i, i))
	}
	return out, nil
}

// BoundScan is one scan with nothing but noise: its errors and the bounds.
type BoundScan struct {
	Seed   uint64             `json:"seed"`
	Errors map[string]float64 `json:"errors"`
	Drawn  map[string]float64 `json:"drawn"`  // least standard deviations of a wing known to be as drawn
	Formed map[string]float64 `json:"formed"` // and of one whose form is unknown
}

// BoundRatio is a quantity's rms error over the bounds.
type BoundRatio struct {
	Name          string
	RMS           float64
	Drawn, Formed float64 // root mean squares of error over bound
	Scans         int
}

const (
	boundSeed   = 800_000
	boundScans  = 32
	boundPoints = 100_000
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
	a := parsed(sections[r.IntN(len(sections))])
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
	r, truth, err := c.measure()
	if err != nil {
		return out, err
	}
	drawn, formed, err := CramerRao(&c.Wing, boundPoints, boundNoise)
	if err != nil {
		return out, err
	}
	f := c.figures(r, truth)
	// The measured section frame seen in the true one, both in the tip rib's plane.
	move := truth.WingFromScan.After(r.Survey.WingFromScan.Inverse())
	origin, aft := move.Apply(r3.Vec{}), move.Rotate(r3.Vec{X: 1})
	out.Errors = map[string]float64{
		Chord: f[Chord].Error, Twist: f[Twist].Error, Aileron: f[Aileron].Error,
		Incidence: -math.Atan2(aft.Z, aft.X) / degree, PlaceAft: origin.X, PlaceUp: origin.Z,
	}
	out.Drawn, out.Formed = named(drawn), named(formed)
	return out, nil
}

// named brings bounds to the names and units of the table.
func named(bound []float64) map[string]float64 {
	return map[string]float64{
		Chord: bound[chordBound], Twist: bound[twistBound] * perMetre / degree, Aileron: bound[deflectBound] / degree,
		Incidence: bound[turnBound] / degree, PlaceAft: bound[aftBound], PlaceUp: bound[upBound],
	}
}

// Bounds takes the scans together.
func Bounds(scans []BoundScan) (out []BoundRatio) {
	for _, name := range []string{Chord, Twist, Aileron, Incidence, PlaceAft, PlaceUp} {
		b := BoundRatio{Name: name, Scans: len(scans)}
		for _, s := range scans {
			e := s.Errors[name]
			b.RMS += e * e
			b.Drawn += e * e / (s.Drawn[name] * s.Drawn[name])
			b.Formed += e * e / (s.Formed[name] * s.Formed[name])
		}
		n := math.Max(float64(len(scans)), 1)
		b.RMS, b.Drawn, b.Formed = math.Sqrt(b.RMS/n), math.Sqrt(b.Drawn/n), math.Sqrt(b.Formed/n)
		out = append(out, b)
	}
	return out
}
