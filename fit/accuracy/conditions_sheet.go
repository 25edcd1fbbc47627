package accuracy

import (
	"math/rand/v2"

	"gonum.org/v1/gonum/spatial/r3"

	"tipwright/section/airfoil"
)

// sheetsApart are the conditions of what the builder knows and does: how often he scans, and what his wing sheet says.
func sheetsApart() []Condition {
	return []Condition{
		{Name: "repeats", Note: "two or three scans of one side, each with a pose, a scale, a noise and points of its own, measured together", Scans: 6, Change: repeated},
		{Name: "repeats, warp 0.5 mm", Note: "the same, each scan bent in a way of its own", Scans: 6, Change: func(c *Case, r *rand.Rand) {
			repeated(c, r)
			c.Scan.Warp = 0.5
		}},
		{Name: "no airfoil", Lost: 0.5, Note: "the sheet names none: the scan's own outline stands in for the drawing", Scans: 9, Change: func(c *Case, _ *rand.Rand) {
			c.NoAirfoil = true
		}},
		{Name: "no sheet", Slack: 8, Lost: 0.5, Note: "nothing but the scan: its scale is the scanner's own, up to 0.4 % wrong, and the aileron belongs to the section as it stood", Scans: 6, Change: func(c *Case, _ *rand.Rand) { c.NoSheet = true }},
		{Name: "tape as tapes are", Note: "the chord's tape is wrong by chance, with a standard deviation of half its U, 0.5 mm", Scans: 24, Change: func(c *Case, r *rand.Rand) {
			c.Tape = tapeSigma * r.NormFloat64()
		}},
		{Name: "split, callipered", Split: true, Note: "the upper skin 1.3 to 4 mm too high or too low, the thickness callipered, nothing mended", Scans: 9, Warned: true,
			Must: []string{"skins-apart"}, Change: func(c *Case, r *rand.Rand) {
				c.Scan.SplitUpper.Shift, c.Callipered = r3.Vec{Z: eitherWay(r, 1.3, 4)}, true
			}},
		{Name: "split, nothing callipered", Split: true, Note: "the upper skin 0.4 to 0.8 % of the chord too high or too low", Scans: 6, Warned: true,
			Must: []string{"skins-apart"}, Change: func(c *Case, r *rand.Rand) {
				c.Scan.SplitUpper.Shift = r3.Vec{Z: eitherWay(r, 0.004, 0.008) * c.Wing.Chord}
			}},
		{Name: "another airfoil in the sheet", Note: "the sheet names another of the sections that the wings are drawn from", Scans: 12, Warned: true,
			Untold: 0.1, Must: []string{"airfoil-doubtful", "far-from-nominal", "skins-apart"}, Change: misnamed},
		{Name: "the other side's name", Note: "a cambered wing whose file is named for the other side", Scans: 6, Warned: true,
			Must: []string{"ends-doubtful"}, Change: mirrored},
		{Name: "span 30 to 110 mm", Note: "50,000 points", Scans: 6, Must: []string{"short-span"}, Change: func(c *Case, r *rand.Rand) {
			shortened(c, r)
			c.Wing.Span, c.Wing.Spots = between(r, 30, 110), nil
		}},
	}
}

// tapeSigma is the standard deviation of a chord taped with care, mm: half of the U of 1 mm that is stated (common
// practice, no source).
const tapeSigma = 0.5

// repeated scans the wing two or three times.
func repeated(c *Case, r *rand.Rand) { c.Repeats = 2 + r.IntN(2) }

// eitherWay draws a size and a sign.
func eitherWay(r *rand.Rand, from, to float64) float64 {
	if r.IntN(2) == 1 {
		return -between(r, from, to)
	}
	return between(r, from, to)
}

// misnamed puts another of the sections into the sheet.
func misnamed(c *Case, r *rand.Rand) {
	name := c.Wing.Airfoil.Name
	for name == c.Wing.Airfoil.Name {
		name = sections[r.IntN(len(sections))]
	}
	c.Airfoil = parsed(name)
}

// mirrored names the other side. A symmetric section turned over is one of the other side, so the wing has a camber.
func mirrored(c *Case, r *rand.Rand) {
	c.Mirrored = true
	for c.Wing.Airfoil.Upper(0.3)+c.Wing.Airfoil.Lower(0.3) < 0.01 {
		c.Wing.Airfoil = parsed(sections[r.IntN(len(sections))])
	}
}

// parsed returns a section by its designation, which is one of ours.
func parsed(name string) *airfoil.Airfoil {
	a, err := airfoil.Parse(name)
	if err != nil {
		panic(err)
	}
	return a
}
