package accuracy

import (
	"math/rand/v2"

	"tipwright/scan"
	"tipwright/section"
	"tipwright/section/simulate"
)

// sections are the nominals that wings are drawn from: every family, thin and thick.
var sections = [...]string{
	"NACA 23012", "NACA 2412", "NACA 4415", "NACA 0012", "NACA 23015", "NACA 0010-64", "NACA 4412", "NACA 23112",
}

// basePoints is how many points lie on the skin unless a condition says otherwise.
const basePoints = 400_000

// draw makes the base case of a seed: a wing as homebuilders make them, with a form of its own, two or three low
// spots and a high one, scanned in any pose, with all clutter.
func draw(seed uint64) Case {
	r := rand.New(rand.NewPCG(seed, 1))
	a := parsed(sections[r.IntN(len(sections))])
	c := Case{Wing: simulate.Wing{
		Airfoil: a, Side: section.Left + section.Side(r.IntN(2)),
		Chord: between(r, 900, 1450), Span: between(r, 550, 850),
		Taper: between(r, 0, 0.08), TaperAbout: 0.25, TwistAbout: 0.25,
		Twist: between(r, -0.5, 2) * degree / perMetre, Sweep: between(r, -0.06, 0.03), Dihedral: between(r, -0.09, 0),
		TailThickness: between(r, 1, 4), SkinOffset: between(r, 0, 0.4),
	}}
	w := &c.Wing
	w.Hinge = between(r, 0.74, 0.8)
	w.HingeZ = (a.Upper(w.Hinge)+a.Lower(w.Hinge))/2 + between(r, -0.004, 0.004) // about the middle of the depth
	w.Deflection, w.HingeGap = between(r, -2, 2)*degree, between(r, 2, 6)
	w.Form = drawForm(r, w.Chord, 0.3)
	w.Spots = drawSpots(r, w.Chord)
	c.Scan = drawScanner(r, seed)
	return c
}

func between(r *rand.Rand, from, to float64) float64 { return from + (to-from)*r.Float64() }

// drawForm makes one long wave on each skin, of at most the given amplitude, the same at every station.
func drawForm(r *rand.Rand, chord, most float64) (out []simulate.Wave) {
	for _, side := range []simulate.Surface{simulate.Upper, simulate.Lower} {
		out = append(out, simulate.Wave{Surface: side, Amplitude: between(r, 0.3*most, most),
			Length: between(r, 0.6, 1.1) * chord, Phase: between(r, 0, 6.28)})
	}
	return out
}

// drawSpots makes the spot that every wing has on one skin, another low one on the other, and a high one clear of
// the tip rib, so that the true target there is the form alone.
func drawSpots(r *rand.Rand, chord float64) []simulate.Bump {
	one, other := simulate.Upper, simulate.Lower
	if r.IntN(2) == 1 {
		one, other = other, one
	}
	return []simulate.Bump{
		{Surface: one, X: between(r, 0.15, 0.6) * chord, Station: between(r, 80, 200), Length: stampWidth, Width: stampWidth, Height: stampHeight},
		{Surface: other, X: between(r, 0.15, 0.6) * chord, Station: between(r, 90, 200),
			Length: between(r, 120, 200), Width: between(r, 100, 180), Height: -between(r, 0.5, 1.6)},
		{Surface: other, X: between(r, 0.87, 0.9) * chord, Station: 235, Length: 110, Width: 110, Height: between(r, 0.4, 0.8)},
	}
}

// drawScanner makes the base scan: 0.5 mm of noise, all clutter, any pose and unit.
func drawScanner(r *rand.Rand, seed uint64) simulate.Scanner {
	return simulate.Scanner{
		Seed: seed, Points: basePoints, ClutterDensity: 0.06, Noise: 0.5, ScaleError: between(r, -0.004, 0.004),
		Unit: []scan.Unit{scan.Metre, scan.Millimetre, scan.Inch}[r.IntN(3)], RandomPose: true, RibFace: simulate.Closed,
		Floor: true, Wall: true, Stand: true, Person: true, Strays: between(r, 0, 0.02), Falloff: between(r, 0, 0.4),
	}
}
