package accuracy

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/spatial/r3"

	"tipwright/section/airfoil"
	"tipwright/section/simulate"
)

// Condition is one row of the table: what its scans have that the base has not.
type Condition struct {
	Name   string
	Note   string // what differs from the base
	Scans  int
	Change func(c *Case, r *rand.Rand) // nil for the base
	// Sagging: what is reported between the ribs of a sagging skin is no false spot.
	Sagging bool
	// Slack is how many times as much as of other rows the check lets pass, where a weakness is known; 0 stands for 1.
	Slack float64
	// Must are the codes of cautions of which one has to be said where a scan is not refused.
	Must []string
	// Untold is the share of the scans of which none of them need be said.
	Untold float64
	// Warned: where it is said, the figures mean nothing, so that only those of the other scans count.
	Warned bool
	// Lost is the share of the scans that the check lets be refused, where more are than of other rows.
	Lost float64
	// Split: the skins lie apart, and by how much has to be said.
	Split bool
	// Limit: more than the scan can show, as the table's last section says; the truth need not lie within U.
	Limit bool
}

// Seed returns the seed of a condition's k-th scan, no two the same.
func Seed(condition, k int) uint64 { return uint64(1000*condition + k + 1) }

// New makes a condition's case of a seed.
func (d *Condition) New(seed uint64) Case {
	c := draw(seed)
	if d.Change != nil {
		c.Scan.Points /= 4
		d.Change(&c, rand.New(rand.NewPCG(seed, 2)))
	}
	return c
}

// Run makes and measures one scan of the condition.
func (d *Condition) Run(seed uint64) (Outcome, error) {
	c := d.New(seed)
	o, err := c.Run()
	o.Condition, o.Seed = d.Name, seed
	if d.Sagging {
		o.FalseLow = 0
	}
	return o, err
}

// Conditions returns the rows of the table, the base first. All but the base and the rows that say so have a quarter
// of the base's points.
func Conditions() []Condition {
	return append(append(append(append([]Condition{{Name: "base", Note: "0.5 mm noise, 400,000 points on the skin, all clutter, any pose", Scans: 100}},
		noises()...), wingsApart()...), scansApart()...), sheetsApart()...)
}

// noises are the conditions of noise and sampling.
func noises() []Condition {
	noise := func(mm float64) func(*Case, *rand.Rand) {
		return func(c *Case, _ *rand.Rand) { c.Scan.Noise = mm }
	}
	return []Condition{
		{Name: "a quarter of the points", Note: "the base with 100,000 points: what the other rows compare with", Scans: 9, Change: noise(0.5)},
		{Name: "noise 0.05 mm", Scans: 6, Change: noise(0.05)},
		{Name: "noise 0.3 mm", Scans: 6, Change: noise(0.3)},
		{Name: "noise 1 mm", Scans: 6, Change: noise(1)},
		{Name: "noise 2.5 mm, warp 0.8 mm", Scans: 9, Change: func(c *Case, _ *rand.Rand) { c.Scan.Noise, c.Scan.Warp = 2.5, 0.8 }},
		{Name: "warp 0.5 mm", Note: "a slow bend of the whole scan", Scans: 6, Change: func(c *Case, _ *rand.Rand) { c.Scan.Warp = 0.5 }},
		{Name: "correlated noise", Slack: 2, Note: "0.1 to 0.3 mm that neighbours within 8 to 80 mm share, beside 0.15 to 0.5 mm of their own", Scans: 12, Change: correlated},
		{Name: "sparse", Note: "20,000 to 30,000 points", Scans: 9, Change: func(c *Case, r *rand.Rand) {
			c.Scan.Points, c.Scan.ClutterDensity = 20_000+r.IntN(10_001), 0.25
		}},
		{Name: "dense", Note: "1,500,000 points", Scans: 2, Change: func(c *Case, _ *rand.Rand) { c.Scan.Points, c.Scan.ClutterDensity = 1_500_000, 0.03 }},
	}
}

// correlated draws how far neighbours share their noise and how much of it.
func correlated(c *Case, r *rand.Rand) {
	c.Scan.NoiseLength = 8 * math.Pow(10, r.Float64())
	c.Scan.CorrelatedNoise, c.Scan.Noise = between(r, 0.1, 0.3), between(r, 0.15, 0.5)
}

// wingsApart are the conditions of the wing.
func wingsApart() []Condition {
	return []Condition{
		{Name: "span 120 to 200 mm", Note: "50,000 points", Scans: 6, Change: shortened},
		{Name: "span 2 m", Note: "200,000 points", Scans: 4, Change: func(c *Case, _ *rand.Rand) { c.Wing.Span, c.Wing.Taper, c.Scan.Points = 2000, 0.03, 200_000 }},
		{Name: "thick tail", Note: "6 to 8 mm", Scans: 6, Change: func(c *Case, r *rand.Rand) { c.Wing.TailThickness = between(r, 6, 8) }},
		{Name: "sharp tail", Note: "0 to 0.5 mm", Scans: 6, Change: func(c *Case, r *rand.Rand) { c.Wing.TailThickness = between(r, 0.05, 0.5) }},
		{Name: "aileron far off", Note: "3 to 5 degrees either way", Scans: 9, Change: func(c *Case, r *rand.Rand) {
			c.Wing.Deflection = math.Copysign(between(r, 3, 5)*degree, r.Float64()-0.5)
		}},
		{Name: "no aileron", Scans: 6, Change: func(c *Case, _ *rand.Rand) { c.Wing.Hinge, c.Wing.Deflection, c.Wing.HingeGap = 0, 0, 0 }},
		{Name: "coordinate file", Note: "the nominal as a table of 61 points with five decimals, the wing by formula", Scans: 6, Change: tabled},
		{Name: "large form", Note: "waves up to 1 mm on each skin", Scans: 6, Change: func(c *Case, r *rand.Rand) { c.Wing.Form = drawForm(r, c.Wing.Chord, 1) }},
		{Name: "form along the span", Note: "the waves change along the span", Scans: 6, Change: func(c *Case, r *rand.Rand) {
			for i := range c.Wing.Form {
				c.Wing.Form[i].SpanLength = between(r, 2000, 6000)
			}
		}},
		{Name: "ribs showing", Note: "the skin sags by 0.3 mm between ribs 200 to 300 mm apart", Scans: 6, Sagging: true, Change: func(c *Case, r *rand.Rand) {
			c.Wing.RibSag, c.Wing.RibPitch = 0.3, between(r, 200, 300)
		}},
		{Name: "nothing to find", Note: "no spot at all", Scans: 9, Change: func(c *Case, _ *rand.Rand) { c.Wing.Spots = nil }},
	}
}

// shortened leaves of the panel only its end, and of the spots those that lie whole on it.
func shortened(c *Case, r *rand.Rand) {
	c.Wing.Span = between(r, 120, 200)
	c.Wing.Spots = c.Wing.Spots[:1]
	c.Wing.Spots[0].Station, c.Wing.Spots[0].Width = c.Wing.Span/2, 90
	c.Scan.Points, c.Scan.ClutterDensity, c.Scan.Stand = 50_000, 0.03, false
}

// tabled puts into the sheet a coordinate file of the section instead of its designation.
func tabled(c *Case, _ *rand.Rand) {
	var text bytes.Buffer
	fmt.Fprintf(&text, "%s as a table\n", c.Wing.Airfoil.Name)
	for _, p := range c.Wing.Airfoil.Outline(61) {
		fmt.Fprintf(&text, "%9.5f %9.5f\n", p.X, p.Y)
	}
	a, err := airfoil.Read(&text, "table.dat")
	if err != nil {
		panic(err) // the table is ours
	}
	c.Airfoil = a
}

// scansApart are the conditions of the scan.
func scansApart() []Condition {
	return []Condition{
		{Name: "open end", Note: "no rib face: only the skin's edge was scanned", Scans: 9, Change: func(c *Case, _ *rand.Rand) { c.Scan.RibFace = simulate.Open }},
		{Name: "ragged end", Note: "no rib face, and the skin's edge up to 4 mm short of the rib", Scans: 6, Change: func(c *Case, _ *rand.Rand) { c.Scan.RibFace = simulate.Ragged }},
		{Name: "mesh", Scans: 6, Change: func(c *Case, _ *rand.Rand) { c.Scan.Mesh = true }},
		{Name: "smoothed mesh", Limit: true, Slack: 6, Note: "100,000 to 250,000 points, one to ten rounds of smoothing, which round the nose and the tail", Scans: 9, Change: func(c *Case, r *rand.Rand) {
			c.Scan.Mesh, c.Scan.MeshSmooth, c.Scan.Points = true, 1+r.IntN(10), 100_000+r.IntN(150_001)
		}},
		{Name: "holes", Note: "15 % of the skin in holes 40 to 160 mm across", Scans: 6, Change: func(c *Case, _ *rand.Rand) { c.Scan.HoleShare = 0.15 }},
		{Name: "strips", Note: "boards across the hinge, three a skin", Scans: 6, Change: func(c *Case, _ *rand.Rand) { c.Scan.Strips = true }},
		{Name: "tape and a hand", Note: "tape along the hinge, a hand at the tail", Scans: 6, Change: func(c *Case, _ *rand.Rand) { c.Scan.Tape, c.Scan.Hand = true, true }},
		{Name: "5 % strays", Scans: 6, Change: func(c *Case, _ *rand.Rand) { c.Scan.Strays = 0.05 }},
		{Name: "scale 1 % off", Note: "either way", Scans: 6, Change: func(c *Case, r *rand.Rand) { c.Scan.ScaleError = math.Copysign(0.01, r.Float64()-0.5) }},
		{Name: "tape 1 mm off", Limit: true, Note: "the chord taped 1 mm too long or too short", Scans: 6, Change: func(c *Case, r *rand.Rand) { c.Tape = math.Copysign(1, r.Float64()-0.5) }},
		{Name: "split, mended", Slack: 3, Note: "the upper skin 0.8 to 2 mm off, the sheet says to mend it", Scans: 6, Change: func(c *Case, r *rand.Rand) {
			c.Scan.SplitUpper.Shift, c.Callipered, c.MendSplit = r3.Vec{Z: between(r, 0.8, 2)}, true, true
		}},
		{Name: "one surface missing", Note: "one skin was not scanned at all", Scans: 6, Warned: true, Must: []string{"partly-seen"}, Change: func(c *Case, r *rand.Rand) { c.Scan.OneSurface = simulate.Upper + simulate.Surface(r.IntN(2)) }},
		{Name: "hinge on the lower skin", Note: "the aileron turns about the skin instead of the middle of the depth", Scans: 6, Change: func(c *Case, _ *rand.Rand) {
			c.Wing.HingeZ = c.Wing.Airfoil.Lower(c.Wing.Hinge)
		}},
		{Name: "no form", Slack: 3, Note: "built to the drawing but for the skin's offset, the tail and the spots", Scans: 6, Change: func(c *Case, _ *rand.Rand) { c.Wing.Form = nil }},
		{Name: "clamps", Note: "two clamps over the trailing edge", Scans: 6, Change: func(c *Case, _ *rand.Rand) { c.Scan.Clamps = true }},
	}
}
