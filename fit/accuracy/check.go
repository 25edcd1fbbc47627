package accuracy

import (
	"fmt"
	"math"
	"strings"
)

// How far the figures may fall back before a check fails. They are no targets: fit/ACCURACY.md holds the figures to
// those.
const (
	slackRMS   = 4.0  // times the rms that is wanted, for the row's noise and points
	slackWorst = 4.0  // times the worst that is wanted
	slackChord = 2.5  // mm of chord and scale: where points are few the tail's edge is found no better than that
	leastCover = 60.0 // per cent of the truth within U, of at least
	coverCount = 10   // errors: of fewer the share says little
	slackFalse = 0.5  // false spots a scan
	leastFound = 0.9  // of the low spots over the stated limit
	slackLost  = 0.2  // of the scans of a row that may be refused without need
	slackSplit = 2.5  // mm of the amount by which skins are said to lie apart: without callipers it holds their offset
	slackBound = 3.0  // times the bound with an unknown form
	boundCount = 5    // scans
)

// Check lists in words what has fallen back beyond the slack: a wrong pose, a refusal where nothing has to be refused,
// an error far from what is wanted.
func (r *Report) Check() (out []string) {
	for _, row := range r.Rows {
		out = append(out, row.check()...)
	}
	for _, d := range r.Detection {
		if float64(d.HitsOver) < leastFound*float64(d.OverLimit) {
			out = append(out, fmt.Sprintf("detection at %.1f mm: %d of %d spots over the stated limit found", d.Noise, d.HitsOver, d.OverLimit))
		}
	}
	for _, b := range r.Bound {
		if b.Scans >= boundCount && b.Formed > slackBound {
			out = append(out, fmt.Sprintf("%s: %.1f times the bound with an unknown form", b.Name, b.Formed))
		}
	}
	return out
}

func (r *Row) check() (out []string) {
	say := func(format string, args ...any) {
		out = append(out, r.Condition.Name+": "+fmt.Sprintf(format, args...))
	}
	if must := r.Condition.Must; len(must) > 0 && float64(r.Told) < (1-r.Condition.Untold)*float64(r.Scans) {
		say("of %d scans only %d were refused or cautioned by %s", r.Scans, r.Told, strings.Join(must, ", "))
	}
	if r.Condition.Split && r.split.n == 0 && r.Scans > 0 {
		say("nowhere is told by how much the skins lie apart")
	}
	if r.split.worst > slackSplit {
		say("the amount of the split is told %.1f mm wrong at seed %d", r.split.worst, r.worstSeed[splitAmount])
	}
	if r.Condition.Warned {
		return out
	}
	if n := r.refusals(); len(r.Condition.Must) == 0 && float64(n) > math.Max(slackLost, r.Condition.Lost)*float64(r.Scans) {
		say("refused: %s", counts(r.Refused))
	}
	if r.PoseRight < r.Delivered {
		say("pose right in %d of %d", r.PoseRight, r.Delivered)
	}
	more := math.Max(r.Condition.Slack, 1)
	for _, w := range wants() {
		t := r.quantities[w.name]
		rms, worst := r.wanted(w)
		rms, worst = slackRMS*more*rms, slackWorst*more*worst
		if w.name == Scale || w.name == Chord {
			rms, worst = math.Max(rms, slackChord), math.Max(worst, slackChord)
		}
		if w.rms > 0 && t.rms() > rms {
			say("%s: rms %s %s", w.name, number(t.rms(), w), w.unit)
		}
		if w.worst > 0 && t.worst > worst {
			say("%s: worst %s %s at seed %d", w.name, number(t.worst, w), w.unit, r.worstSeed[w.name])
		}
		if t.asked >= coverCount && t.coverage() < leastCover {
			say("%s: truth within U in %.0f %%", w.name, t.coverage())
		}
	}
	if n := r.FalseLow + r.FalseHigh; float64(n) > more*(1+slackFalse*float64(r.Scans)) {
		say("%d false spots", n)
	}
	return out
}
