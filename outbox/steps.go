package outbox

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// step is one line of the checklist: what to do, and what has to be known for it.
type step struct {
	Do     string
	Detail []string
}

// steps lists what to do next, in working order. files are the names of the delivery's files.
func (d *Delivery) steps(r *Record, files []string) []step {
	var out []step
	add := func(do string, detail ...string) { out = append(out, step{do, detail}) }
	has := func(name string) bool { return slices.Contains(files, name) }
	if d.Sheet.Chord == 0 {
		detail := "The size of everything here is the scanner's own. Once the chord is in the sheet the wing is measured again."
		if d.Identity.Sheet.File == "" {
			detail += " A wing sheet to fill in stands at the end of this page."
		}
		add("Tape the chord at the tip rib and write it into the wing sheet; do not cut before.", detail)
	}
	if n := r.count("caution"); n > 0 {
		add(fmt.Sprintf("Read the %s under “What you should know” first.", counted(n, "caution")))
	}
	if a := r.Aileron; a != nil {
		add("Block the aileron at neutral.", fmt.Sprintf("In the scan it stood %s° %s. The templates show it %s; what neutral means is for the designer to say.",
			plusMinus(absolute(a.DeflectionDeg), 1), downOrUp(a.DeflectionDeg.Value), neutralWords(a.NeutralDeg)))
	}
	if has("flange-strip.pdf") { // before filling, as on the drawings' own list: its fasteners are filled over
		add("Fit the flange under the skin at the tip rib.", "flange-strip.pdf is its developed length with the fasteners.")
	}
	if w := named(files, "wrap-", ".pdf"); len(w) > 0 {
		them := "it"
		if len(w) > 1 {
			them = "them"
		}
		add("Print "+listed(w)+" at 100 %, tape "+them+" on the skin, and mark the spots through.", "Tip edge to the tip rib, tail to tail. A tape by the figures below does as well.")
	}
	out = append(out, d.filling(r)...)
	out = append(out, d.sanding(r)...)
	if g := named(files, "gauge-", ".pdf"); len(g) > 0 {
		add("Hold the check gauges against the skin while you sand.", "Print and saw "+listed(g)+". "+fmt.Sprintf(
			"The two feet stand on the skin; elsewhere the edge keeps %s mm off the finished surface: a drill shank of %s mm just slides through where the filler is right, and rattles where it is low.",
			fixed(gaugeRelief, 0), fixed(gaugeRelief, 0)))
	}
	if len(r.LowSpots) > 0 {
		add("Scan again when the filler is cured and sanded.", "The next report tells whether the spots are gone.")
	}
	if has("inboard-block.pdf") {
		out = append(out, d.blocks(r, has)...)
	}
	return append(out, step{"Do the other wing, then read the comparison of both.",
		[]string{"It lies in the folder “pair”; once it is made, a link to it stands at the top of this page."}})
}

// filling says where to fill.
func (d *Delivery) filling(r *Record) []step {
	var places []string
	for i, s := range r.LowSpots {
		if s.Act {
			places = append(places, fmt.Sprintf("L%d: %s mm deep, %s skin, %s mm from the nose round the skin, %s mm inboard of the tip rib, %s × %s mm: about %s ml.",
				i+1, plusMinus(*s.DepthMM, 1), s.Surface, fixed(s.FromNose, 0), fixed(s.StationMM, 0),
				fixed(s.LengthMM, 0), fixed(s.WidthMM, 0), fixed(s.VolumeML.Value, 0)))
		}
	}
	amount := fmt.Sprintf("about %s ml in all, %s g mixed", plusMinus(r.Filler.VolumeML, 0), fixed(r.Filler.MassG, 0))
	switch {
	case d.Sheet.TargetNominal && r.Filler.VolumeML.Value > 0:
		return []step{{"Fill up to the nominal section by the filler map: " + amount + ".", places}}
	case len(places) > 0:
		return []step{{fmt.Sprintf("Fill %s: %s.", counted(len(places), "low spot"), amount), places}}
	}
	return []step{{"There is nothing to fill.", []string{fmt.Sprintf("No low spot deeper than %s mm shows in the outboard %s mm. One shallower than %s mm would not be found.",
		fixed(d.Sheet.ActAbove.MM(), 1), fixed(d.Sheet.Band.MM(), 0), upTo(*r.DetectionLimitMM, 2))}}}
}

// sanding says what may be sanded and what must not.
func (d *Delivery) sanding(r *Record) []step {
	var sand, leave []string
	for i, s := range r.HighSpots {
		text := fmt.Sprintf("H%d: %s mm high, %s skin, %s mm from the nose, %s mm inboard.",
			i+1, plusMinus(*s.HeightMM, 1), s.Surface, fixed(s.FromNose, 0), fixed(s.StationMM, 0))
		if s.Act {
			leave = append(leave, text)
		} else {
			sand = append(sand, text)
		}
	}
	var out []step
	if len(sand) > 0 {
		out = append(out, step{fmt.Sprintf("Sand %s flush, and stop at the skin.", counted(len(sand), "high spot")), sand})
	}
	if len(leave) > 0 {
		out = append(out, step{
			fmt.Sprintf("Leave %s alone: more than %s mm proud. Never cut into the skin; fair filler up to it on both sides.",
				counted(len(leave), "high spot"), fixed(d.Sheet.SandLimit.MM(), 1)), leave})
	}
	return out
}

// blocks leads from print to cut.
func (d *Delivery) blocks(r *Record, has func(string) bool) []step {
	var out []step
	add := func(do string, detail ...string) { out = append(out, step{do, detail}) }
	if has("kerf-coupon.pdf") && !d.Sheet.Given("wire.kerf") {
		add("Make the test cut for the kerf.", fmt.Sprintf("kerf-coupon.pdf shows how. The wing sheet does not give the kerf, so %s mm was assumed; "+
			"write the measured one into it and drop it in again: the blocks are made anew.", fixed(d.Sheet.Kerf.MM(), 2)))
	}
	paper := d.Sheet.Paper.Name + " paper"
	if d.Sheet.Paper.Name == "roll" {
		paper = "the roll"
	}
	add("Print inboard-block.pdf and outboard-block.pdf on "+paper+" at 100 %.", "Switch off “fit to page” and every other scaling.")
	add("Measure the bars on every sheet with a steel rule, and the joined template nose to tail.",
		"The figures to meet are printed beside them. If the bars are off, write what they measure into the wing sheet as bar_x and bar_z and print again. "+
			"Paper moves with the weather: measure and use it on the same day.")
	add("Glue the prints to board, saw both blocks and sand to the middle of the line.", "Both blocks are the same outline. Sand them together, clamped as a pair.")
	if has("foam-block.pdf") {
		add("Stack and glue the foam to "+fixed(d.Sheet.TipLength.MM(), 0)+" mm.", "foam-block.pdf gives the sheets, the size, and the measurements that keep the tip free of twist.")
	}
	add("Screw the blocks to both ends and sight their lines against each other.",
		fmt.Sprintf("%s mm of difference at the tail is already 0.1° of twist.", fixed(r.Section.ChordMM.Value*math.Tan(0.1/degreesPerRadian), 1)))
	add("Cut with the hot wire; both ends pass equal numbers together.", "Polystyrene only, in fresh air.")
	return out
}

// count returns how many messages have a level.
func (r *Record) count(level string) (n int) {
	for _, m := range r.Messages {
		if m.Level == level {
			n++
		}
	}
	return n
}

func counted(n int, what string) string {
	if n == 1 {
		return "one " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

func downOrUp(v float64) string {
	if v < 0 {
		return "up"
	}
	return "down"
}

func neutralWords(deg float64) string {
	if deg == 0 {
		return "faired with the wing"
	}
	return fmt.Sprintf("%s° %s, the designer's neutral", fixed(math.Abs(deg), 1), downOrUp(deg))
}

// named returns the files that begin and end so.
func named(files []string, begin, end string) []string {
	var out []string
	for _, f := range files {
		if strings.HasPrefix(f, begin) && strings.HasSuffix(f, end) {
			out = append(out, f)
		}
	}
	return out
}

// listed joins words as in a sentence.
func listed(words []string) string {
	if n := len(words); n > 1 {
		return strings.Join(words[:n-1], ", ") + " and " + words[n-1]
	}
	return strings.Join(words, "")
}
