// Package accuracy measures simulated scans whose truth is known and says how far each figure was off: the
// table in fit/ACCURACY.md, the depth from which a low spot is found, and how near the measurement comes to
// what the points of a scan allow. It calls what a delivery calls, section.Measure and fit.Fit, and takes the
// truth from section/simulate, which shares no curve, loft or departure with them.
package accuracy

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"tipwright/fit"
	"tipwright/scan"
	"tipwright/section"
	"tipwright/section/airfoil"
	"tipwright/section/simulate"
)

// Case is one wing, how it is scanned and what its wing sheet says of it. Lengths mm.
type Case struct {
	Wing       simulate.Wing
	Scan       simulate.Scanner
	Repeats    int              // scans of the one wing that are measured together; 0 stands for 1
	Airfoil    *airfoil.Airfoil // what the sheet names; nil: the wing's own
	NoAirfoil  bool             // the sheet names none
	NoSheet    bool             // there is no sheet: no airfoil, no chord, no hinge
	Mirrored   bool             // the file's name says the other side
	Tape       float64          // by how much the chord was taped too long
	TrustScale bool             // the sheet tells to keep the scan's scale
	Callipered bool             // the sheet tells the thickness, exactly
	MendSplit  bool             // the sheet tells to bring the skins together
	Band       float64          // how far inboard spots are looked for; 0: the sheet's default
}

// Outcome is what came of one case: its errors, measured less true.
type Outcome struct {
	Condition string            `json:"condition"`
	Seed      uint64            `json:"seed"`
	Refused   string            `json:"refused,omitempty"` // code of the refusal
	PoseRight bool              `json:"pose_right"`        // side, ends and up as they are
	Cautions  []string          `json:"cautions,omitempty"`
	Figures   map[string]Figure `json:"figures,omitempty"`
	Outlines  map[string]Misfit `json:"outlines,omitempty"`
	Spots     []SpotOutcome     `json:"spots,omitempty"` // of every low spot that there is
	FalseLow  int               `json:"false_low"`       // low spots reported where there are none
	FalseHigh int               `json:"false_high"`
	Limit     float64           `json:"limit"`           // mm, the detection limit that was stated
	Noise     float64           `json:"noise"`           // mm, as measured
	Split     *float64          `json:"split,omitempty"` // mm, error of the amount by which the skins were said to lie apart
}

// Figure is the error of one quantity and the expanded uncertainty (k = 2) stated for it; U is 0 where none is
// stated. Tape is what the drawn error of the tape would add to the error, see [Case.tapeDrawn].
type Figure struct {
	Error float64 `json:"e"`
	U     float64 `json:"u"`
	Tape  float64 `json:"tape,omitempty"`
}

// The quantities.
const (
	SpanAxis  = "span axis"     // deg, angle between the measured and the true Y axis of the wing frame
	TipPlane  = "tip rib plane" // mm along the span
	Chord     = "chord"         // mm
	Scale     = "scale"         // mm on the chord: how much too long all that long is taken for
	Twist     = "twist"         // deg/m
	Aileron   = "aileron angle" // deg
	AsBuilt   = "as-built outline"
	Target    = "target outline"
	Template  = "template outline"
	degree    = math.Pi / 180
	perMetre  = 1000
	poseFar   = 0.98 // cosine: an axis farther off than 11 degrees is not the right pose
	stockBand = 300.0
)

// wishes are the filler's and the template's figures of the sheet, the same for all cases.
func (c *Case) wishes() fit.Options {
	band := c.Band
	if band == 0 {
		band = stockBand
	}
	return fit.Options{Band: band, ActAbove: 0.5, SandLimit: 0.2, Density: 450, Laminate: 0.8, Kerf: 1.5, Wire: 0.5, TipLength: 260}
}

// options is what the sheet says for the measurement.
func (c *Case) options(t *simulate.Truth) section.Options {
	side := c.Wing.Side
	if c.Mirrored {
		side = section.Left + section.Right - side
	}
	if c.NoSheet {
		return section.Options{Side: side}
	}
	o := section.Options{Chord: t.Taped + c.Tape, Hinge: c.Wing.Hinge, Side: side, TrustScale: c.TrustScale, MendSplit: c.MendSplit}
	if c.Callipered {
		o.Thickness = thickest(t.Target)
	}
	if !c.NoAirfoil {
		o.Airfoil = cmp.Or(c.Airfoil, c.Wing.Airfoil)
	}
	return o
}

// scans returns the scanner of each of the repeats: what a builder changes when he scans again, and what changes by
// itself.
func (c *Case) scans() []simulate.Scanner {
	out := []simulate.Scanner{c.Scan}
	for k := 1; k < c.Repeats; k++ {
		r := rand.New(rand.NewPCG(c.Scan.Seed, uint64(10+k)))
		s := c.Scan
		s.Seed = r.Uint64()
		s.ScaleError = between(r, -0.004, 0.004)
		s.Noise *= between(r, 0.8, 1.25)
		s.Points = int(float64(s.Points) * between(r, 0.8, 1.25))
		out = append(out, s)
	}
	return out
}

// Run scans the wing, measures the scan and compares. A refusal is an outcome; an error means that the case
// cannot be made or that something else went wrong.
func (c *Case) Run() (Outcome, error) {
	result, truth, err := c.measure()
	if refused, ok := errors.AsType[*scan.RefusalError](err); ok {
		return Outcome{Refused: refused.Code, Split: c.splitTold(refused.Text)}, nil
	}
	if err != nil {
		return Outcome{}, fmt.Errorf("accuracy: %w", err)
	}
	return c.compare(result, truth), nil
}

// measure makes the scans and leads them along the way that a delivery goes. The truth is that of the first, whose frame
// the result has.
func (c *Case) measure() (result *fit.Result, truth *simulate.Truth, err error) {
	var surveys []*section.Survey
	for _, scanner := range c.scans() {
		s, of, err := simulate.Scan(c.Wing, scanner)
		if err != nil {
			return nil, nil, err
		}
		if truth == nil {
			truth = of
		}
		v, err := section.Measure(s, c.options(of))
		if err != nil {
			return nil, truth, err
		}
		surveys = append(surveys, v)
	}
	result, err = fit.Fit(section.Merge(surveys), c.wishes())
	return result, truth, err
}

// compare holds a result to the truth.
func (c *Case) compare(r *fit.Result, truth *simulate.Truth) Outcome {
	out := Outcome{Figures: c.figures(r, truth), Limit: r.DetectionLimit, Noise: r.Survey.Noise}
	out.PoseRight = true
	got, want := r.Survey.WingFromScan, truth.WingFromScan
	for i := range 3 {
		out.PoseRight = out.PoseRight && r3.Dot(row(got, i), row(want, i)) > poseFar
	}
	for _, m := range slices.Concat(r.Survey.Messages, r.Messages) { // as a delivery tells them
		if m.Level == scan.Caution {
			out.Cautions = append(out.Cautions, m.Code)
			out.Split = cmp.Or(out.Split, c.splitTold(m.Text))
		}
	}
	out.Outlines = c.outlines(r, truth)
	out.Spots, out.FalseLow = matchSpots(r.LowSpots, truth, -1, c.wishes().Band)
	_, out.FalseHigh = matchSpots(r.HighSpots, truth, +1, c.wishes().Band)
	return out
}

// tapeDrawn is the error of the tape, mm, that coverage is judged with where the case's tape is exact: an uncertainty that
// holds a tape as tapes are cannot be judged by wings that were taped without error. 0 where the tape does not set the
// scale, or errs of itself.
func (c *Case) tapeDrawn() float64 {
	if c.Tape != 0 || c.TrustScale || c.NoSheet {
		return 0
	}
	return tapeSigma * rand.New(rand.NewPCG(c.Scan.Seed, 5)).NormFloat64()
}

// stretch is by what share that error makes every measured length too long, to first order.
func (c *Case) stretch(truth *simulate.Truth) float64 { return c.tapeDrawn() / truth.Taped }

// figures are the errors of the single quantities.
func (c *Case) figures(r *fit.Result, truth *simulate.Truth) map[string]Figure {
	v, w := r.Survey, &truth.Wing
	toDegPerM := perMetre / degree
	cross := r3.Norm(r3.Cross(row(v.WingFromScan, 1), row(truth.WingFromScan, 1)))
	origin := truth.WingFromScan.After(v.WingFromScan.Inverse()).Apply(r3.Vec{})
	out := map[string]Figure{
		SpanAxis: {Error: math.Asin(math.Min(cross, 1)) / degree},
		TipPlane: {Error: origin.Y * w.Side.Inboard()},
		Chord:    {Error: v.Chord.Value - w.Chord, U: v.Chord.U, Tape: w.Chord * c.stretch(truth)},
		Scale:    {Error: w.Chord * (v.WingFromScan.Scale/truth.WingFromScan.Scale - 1), U: w.Chord * v.ScaleRel, Tape: w.Chord * c.stretch(truth)},
		Twist:    {Error: (v.Twist.Value - w.Twist) * toDegPerM, U: v.Twist.U * toDegPerM},
	}
	if c.NoAirfoil || c.NoSheet { // the stand-in's chord line is its own
		delete(out, Chord)
	}
	if r.Deflection != nil {
		out[Aileron] = Figure{Error: (r.Deflection.Value - w.Deflection) / degree, U: r.Deflection.U / degree}
	}
	return out
}

// row returns one axis of the wing frame as a direction in the scan frame.
func row(t section.Transform, i int) r3.Vec {
	return r3.Vec{X: t.R[i][0], Y: t.R[i][1], Z: t.R[i][2]}
}

// outlines are the misfits of the three outlines at the tip rib. Beside the gap the skin that was scanned is not
// defined to the millimetre, so the as-built outline is not looked at there.
func (c *Case) outlines(r *fit.Result, truth *simulate.Truth) map[string]Misfit {
	target, hinge := truth.Target, truth.Wing.Hinge*truth.Wing.Chord
	beside := 0.0
	if c.NoSheet { // the aileron stays as it stood
		target, beside = truth.TargetAt(0, truth.Wing.Deflection), hinge
	}
	out := map[string]Misfit{
		AsBuilt: misfit(truth.AsBuilt, r.AsBuilt, 0, r.OutlineU, hinge, c.stretch(truth)),
		Target:  misfit(target, r.Target, 0, r.TargetU, beside, c.stretch(truth)),
	}
	for _, t := range r.Templates {
		if t.Name == "inboard-block" {
			out[Template] = misfit(target, t.Outline, t.Offset, t.U, beside, c.stretch(truth))
		}
	}
	return out
}
