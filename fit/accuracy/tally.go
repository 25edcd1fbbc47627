package accuracy

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// More quantities, of the low spots.
const (
	Depth  = "depth of a spot"
	Place  = "place of a spot"
	Volume = "volume of a spot"
)

// want is what a quantity is to reach under the base's condition.
type want struct {
	name       string
	unit       string
	digits     int
	rms, worst float64 // 0: nothing is asked
	stated     bool    // an uncertainty is stated, so that the truth should lie within it
}

// wants lists the quantities in the order of the tables. Volumes are told in per cent.
func wants() []want {
	return []want{
		{SpanAxis, "deg", 3, 0.03, 0.1, false},
		{TipPlane, "mm", 3, 0, 0, false},
		{Chord, "mm", 2, 0.10, 0.3, true},
		{Scale, "mm on the chord", 2, 0.10, 0.3, true},
		{Twist, "deg/m", 3, 0.05, 0.15, true},
		{Aileron, "deg", 3, 0.03, 0.1, true},
		{AsBuilt, "mm", 3, 0.03, 0.2, true},
		{Target, "mm", 3, 0.05, 0.3, true},
		{Template, "mm", 3, 0.05, 0.3, true},
		{Depth, "mm", 3, 0.06, 0.15, true},
		{Place, "mm", 1, 0, 0, false},
		{Volume, "%", 1, 8, 15, true},
	}
}

// coverageWanted is how often, in per cent, the truth should lie within an expanded uncertainty with k = 2.
var coverageWanted = [2]float64{92, 99}

// tally is one quantity over the scans of one condition.
type tally struct {
	n             int
	square, worst float64
	within, asked float64
	overU         float64 // sum of the squares of errors over their standard uncertainties
}

// add counts one error of no stated uncertainty.
func (t *tally) add(rms, worst float64) {
	t.n++
	t.square += rms * rms
	t.worst = math.Max(t.worst, math.Abs(worst))
}

// stated counts one error for which U is stated; taped is its rms with the drawn error of the tape, and within the share of
// what it stands for that then lies within U.
func (t *tally) stated(rms, worst, taped, within, u float64) {
	t.add(rms, worst)
	t.within += within
	t.asked++
	if u > 0 {
		t.overU += 4 * taped * taped / (u * u)
	}
}

// pool adds what another has counted.
func (t *tally) pool(o *tally) {
	t.n += o.n
	t.square += o.square
	t.worst = math.Max(t.worst, o.worst)
	t.within += o.within
	t.asked += o.asked
	t.overU += o.overU
}

func (t *tally) rms() float64 { return math.Sqrt(t.square / math.Max(float64(t.n), 1)) }

// coverage returns how often the truth lay within U, per cent.
func (t *tally) coverage() float64 { return 100 * t.within / math.Max(t.asked, 1) }

// figure counts an error that has an uncertainty, or has not.
func (t *tally) figure(f Figure, scale float64) {
	e, taped := scale*f.Error, scale*(f.Error+f.Tape)
	switch {
	case !(f.U > 0):
		t.add(e, e)
	case math.Abs(f.Error+f.Tape) <= f.U:
		t.stated(e, e, taped, 1, scale*f.U)
	default:
		t.stated(e, e, taped, 0, scale*f.U)
	}
}

// Row is one condition's scans taken together.
type Row struct {
	Condition  Condition
	Scans      int
	Refused    map[string]int // by code
	Cautioned  map[string]int
	Told       int // said one of the things that the condition calls for
	Delivered  int // whose figures count
	PoseRight  int
	FalseLow   int
	FalseHigh  int
	Due, Found int       // low spots of twice the stated detection limit, whole in the band
	limits     []float64 // mm, the stated detection limits
	quantities map[string]*tally
	split      tally   // mm, amount by which skins were said to lie apart
	tape       tally   // mm, by how much the chord was taped wrong
	scale      float64 // what may be wanted is the base's times this
	worstSeed  map[string]uint64
}

// Gather takes the outcomes of one condition together.
func Gather(d Condition, outcomes []Outcome) *Row {
	r := &Row{Condition: d, Refused: map[string]int{}, Cautioned: map[string]int{}, quantities: map[string]*tally{},
		scale: 1, worstSeed: map[string]uint64{}}
	for _, w := range wants() {
		r.quantities[w.name] = &tally{}
	}
	for i := range outcomes {
		o := &outcomes[i]
		c := d.New(o.Seed)
		r.allow(c.allowance())
		r.tape.add(c.Tape, c.Tape)
		r.add(o)
	}
	return r
}

// allow lets errors be by so much more than at the base.
func (r *Row) allow(scale float64) { r.scale = math.Max(r.scale, scale) }

// add counts what came of a scan.
func (r *Row) add(o *Outcome) {
	r.Scans++
	r.tell(o)
	if o.Refused == "" && r.count(o) {
		r.limits = append(r.limits, o.Limit)
	}
}

// splitAmount names the amount of a split among the quantities.
const splitAmount = "amount of the split"

// tell counts what was said of a scan.
func (r *Row) tell(o *Outcome) {
	if r.Condition.told(o) {
		r.Told++
	}
	if o.Refused != "" {
		r.Refused[o.Refused]++
	}
	for _, code := range slices.Compact(slices.Sorted(slices.Values(o.Cautions))) {
		r.Cautioned[code]++
	}
	if o.Split != nil && r.Condition.Split {
		r.noteIn(&r.split, splitAmount, o.Seed, func(t *tally) { t.add(*o.Split, *o.Split) })
	}
}

// count adds one outcome that is no refusal, and says whether its figures count.
func (r *Row) count(o *Outcome) bool {
	if r.Condition.Warned && r.Condition.told(o) {
		return false
	}
	r.Delivered++
	if o.PoseRight {
		r.PoseRight++
	}
	r.FalseLow += o.FalseLow
	r.FalseHigh += o.FalseHigh
	for name, f := range o.Figures {
		r.note(name, o.Seed, func(t *tally) { t.figure(f, 1) })
	}
	for name, m := range o.Outlines {
		r.note(name, o.Seed, func(t *tally) { t.stated(m.RMS, m.Worst, m.Taped, m.Within, m.U) })
	}
	for _, s := range o.Spots {
		r.spot(&s, o)
	}
	return true
}

// spot counts what was made of one low spot.
func (r *Row) spot(s *SpotOutcome, o *Outcome) {
	if s.InBand && s.True >= 2*o.Limit {
		r.Due++
		if s.Found {
			r.Found++
		}
	}
	if !s.Found || !s.Stamped {
		return
	}
	r.note(Depth, o.Seed, func(t *tally) { t.figure(s.Depth, 1) })
	r.note(Place, o.Seed, func(t *tally) { t.add(s.Place, s.Place) })
	r.note(Volume, o.Seed, func(t *tally) { t.figure(s.Volume, 100) })
}

// wanted returns what a quantity is to reach in this row: what the base is, times the row's allowance; what the tape was
// wrong by, chord and scale may be besides.
func (r *Row) wanted(w want) (rms, worst float64) {
	rms, worst = r.scale*w.rms, r.scale*w.worst
	if w.name == Chord || w.name == Scale {
		rms, worst = math.Hypot(rms, r.tape.rms()), worst+r.tape.worst
	}
	return rms, worst
}

// chance95 is the multiple of a standard deviation that the rms of n errors exceeds in 5 % of all samples.
func chance95(n int) float64 {
	return math.Sqrt(distuv.ChiSquared{K: float64(n)}.Quantile(0.95) / float64(n))
}

// over says whether rms and worst contradict what is wanted. The base has to reach it as it stands; of the few scans of
// the other rows the rms may exceed it by as much as is chance at the 95 % level.
func (r *Row) over(w want) (rms, worst bool) {
	t := r.quantities[w.name]
	if t.n == 0 || w.rms == 0 {
		return false, false
	}
	wantedRMS, wantedWorst := r.wanted(w)
	if r.Condition.Change != nil {
		wantedRMS *= chance95(t.n)
	}
	return t.rms() > wantedRMS, t.worst > wantedWorst
}

// note adds to a quantity and keeps the seed of its worst error.
func (r *Row) note(name string, seed uint64, add func(t *tally)) {
	r.noteIn(r.quantities[name], name, seed, add)
}

func (r *Row) noteIn(t *tally, name string, seed uint64, add func(t *tally)) {
	before := t.worst
	add(t)
	if t.worst > before {
		r.worstSeed[name] = seed
	}
}

// allowance is by how much more than at the base a scan's errors may be: with the noise, with the root of the points
// that are fewer, and with the warp, of which the base has none, so that 0.8 mm of it allow 0.6 mm of the as-built
// outline where the base is to reach 0.03 mm.
func (c *Case) allowance() float64 {
	const warp = 0.6 / 0.03 / 0.8
	scans := float64(max(c.Repeats, 1))
	noise := c.Scan.Noise / 0.5 * math.Sqrt(basePoints/(float64(c.Scan.Points)*scans))
	return math.Max(math.Hypot(noise, warp*c.Scan.Warp/math.Sqrt(scans)), 1)
}
