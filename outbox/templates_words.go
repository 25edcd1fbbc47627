package outbox

import (
	"fmt"
	"math"
	"sort"
	"strings"

	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/outbox/draw"
)

// title names the drawing on every sheet.
func (b *formBlock) title() string {
	return sheetTitle(b.result, b.sheet, b.id, b.end()+" form block")
}

// end says at which end of the foam the block sits.
func (b *formBlock) end() string {
	if b.face == facesOutboard {
		return "outboard"
	}
	return "inboard"
}

// endTitle is end at the beginning of a sentence.
func (b *formBlock) endTitle() string {
	if b.face == facesOutboard {
		return "Outboard"
	}
	return "Inboard"
}

// paragraph is a run of words in one size.
type paragraph struct {
	height float64
	words  string
}

// legend is what stands on the block itself, so that it still stands there when the paper's rim is sawn off.
func (b *formBlock) legend() []paragraph {
	head := func(s string) paragraph { return paragraph{5, s} }
	text := func(format string, a ...any) paragraph { return paragraph{3, fmt.Sprintf(format, a...)} }
	end := b.end()
	out := []paragraph{
		head(fmt.Sprintf("%s wing, %s block", strings.ToUpper(b.result.Survey.Side.String()), strings.ToUpper(end))),
		{3.5, fmt.Sprintf("This face looks %s, away from the foam.", b.face)},
		text("%s. Form block for the hot wire, %s end. %s", aircraftName(b.sheet, b.id), end, b.place()),
		text("Saw outside the dashed line, sand to the middle of the solid line: the wire rides on that edge."),
		text("Solid edge = %s.", offsetWords(b.template.Offset, b.sheet)),
		text("Reference chord %s mm, edge ± %s mm (k = 2)%s.", plusMinus(b.result.Survey.Chord, 1), upTo(b.template.U, 2), untaped(b.sheet)),
		text("Check before sawing: nose mark to tail mark %s mm.", fixed(r2.Norm(r2.Sub(b.noseMark(), b.tail)), 1)),
		text("Lines A, B, C lie %s mm aft of the leading edge, square to the chord line, on both blocks.", b.lineList()),
	}
	for i, h := range b.holes {
		out = append(out, text("H%d: %.0f mm hole, x %s, z %s; edge %s mm away.", i+1, holeDiameter,
			fixed(h.at.X, 0), fixed(h.at.Y, 0), fixed(h.edge, 1)))
	}
	if len(b.holes) == 0 {
		out = append(out, text("No hole is %.0f mm clear of the wire's path: glue or tape the block.", holeClearance))
	}
	return append(out,
		text("Numbers 0 (tail) to %d (nose) are equal shares of arc: square them over the edge. Both ends of the wire pass equal numbers together.", wireSteps),
		text("Dotted lines run %.0f mm on from tail and nose: hold the wire straight on them until it bears on the edge, or pin a strip there.", runLength),
		text("Twist: %s mm at the tail is 0.1°. Both chord lines must lie parallel.", fixed(b.chord*math.Tan(0.1*math.Pi/180), 1)),
		text("Only polystyrene on the hot wire: other foams give off poisonous gases. Fresh air."),
		text("Shape only: says nothing on strength, attachment, flutter or legality."),
		text("%s", signature(b.id)),
	)
}

func (b *formBlock) place() string {
	if b.template.Station == 0 {
		return "At the tip rib, station 0."
	}
	return fmt.Sprintf("%s mm outboard of the tip rib.", fixed(-b.template.Station, 0))
}

func (b *formBlock) lineList() string {
	var s []string
	for _, x := range b.lines {
		s = append(s, fixed(x, 0))
	}
	return strings.Join(s, ", ")
}

// words sets the legend into the free room on the block and what does not fit there below it.
func (b *formBlock) words() {
	l := b.d.On("WORDS", draw.Pen{Width: 0.25})
	left := b.legend()
	for _, room := range b.rooms() {
		left = set(l, left, room)
	}
	if len(left) > 0 {
		b.below(l, left)
	}
	b.d.Notes = b.notes()
}

// room is a rectangle for words, paper coordinates.
type room struct{ lo, hi r2.Vec }

const (
	paragraphGap = 1.2
	lineSpacing  = 1.6 // lines, in heights of capitals

	// slackForFonts leaves room for what stands in for the lettering's font on the reader's machine.
	slackForFonts = 0.9
)

// set fills a room from the top with whole paragraphs as long as they fit and returns those that are left.
func set(l *draw.Layer, words []paragraph, r room) []paragraph {
	y := r.hi.Y
	for len(words) > 0 {
		p := words[0]
		lines := draw.Wrap(p.words, p.height, slackForFonts*(r.hi.X-r.lo.X))
		if y-float64(len(lines))*lineSpacing*p.height < r.lo.Y || p.height > 3 && len(lines) > 2 {
			break
		}
		for _, s := range lines {
			l.Add(draw.Text{At: r2.Vec{X: r.lo.X, Y: y - p.height}, Height: p.height, Words: s})
			y -= lineSpacing * p.height
		}
		y -= paragraphGap
		words = words[1:]
	}
	return words
}

// rooms returns the free rectangles on the block between holes and line B, in reading order: those above
// the chord line first.
func (b *formBlock) rooms() []room {
	const beside, least = 16.0, 60.0
	stops := []float64{b.lines[0] + 10}
	for _, h := range b.holes {
		stops = append(stops, h.at.X)
	}
	stops = append(stops, b.lines[1], 0.86*b.chord)
	sort.Float64s(stops)
	var out []room
	for i := 1; i < len(stops); i++ {
		from, to := stops[i-1]+beside, stops[i]-beside
		if to-from >= least {
			out = append(out, b.roomsBetween(from, to)...)
		}
	}
	sort.SliceStable(out, func(i, j int) bool {
		if (out[i].lo.Y >= 0) != (out[j].lo.Y >= 0) {
			return out[i].lo.Y >= 0
		}
		return out[i].lo.X < out[j].lo.X
	})
	return out
}

// roomsBetween returns the rooms above and below the chord line from x to x, clear of the wire marks.
func (b *formBlock) roomsBetween(from, to float64) []room {
	const rim, clear, shallow = tickMost + lettering + 3, 5.0, 18.0
	lower, upper := math.Inf(-1), math.Inf(1)
	for x := from; x <= to; x++ {
		lo, hi, _ := b.cut(x)
		lower, upper = math.Max(lower, lo+rim), math.Min(upper, hi-rim)
	}
	var out []room
	for _, z := range [][2]float64{{math.Max(lower, clear), upper}, {lower, math.Min(upper, -clear)}} {
		if z[1]-z[0] < shallow {
			continue
		}
		p, q := b.at(r2.Vec{X: from, Y: z[0]}), b.at(r2.Vec{X: to, Y: z[1]})
		out = append(out, room{r2.Vec{X: math.Min(p.X, q.X), Y: z[0]}, r2.Vec{X: math.Max(p.X, q.X), Y: z[1]}})
	}
	return out
}

// below sets paragraphs in columns under the block.
func (b *formBlock) below(l *draw.Layer, words []paragraph) {
	const column, gap = 110.0, 8.0
	from, to := b.extent()
	floor := 0.0
	for _, p := range b.saw {
		floor = math.Min(floor, p.Y)
	}
	count := math.Max(1, math.Floor((to-from+gap)/(column+gap)))
	left := math.Min(b.at(r2.Vec{X: from}).X, b.at(r2.Vec{X: to}).X)
	height := 0.0
	for _, p := range words {
		height += float64(len(draw.Wrap(p.words, p.height, slackForFonts*column)))*lineSpacing*p.height + paragraphGap
	}
	top := floor - 12
	for i := 0.0; len(words) > 0; i++ {
		deep := height/count + 3*lineSpacing*5
		if i >= count-1 {
			deep = 2*height + 50
		}
		words = set(l, words, room{r2.Vec{X: left + i*(column+gap), Y: top - deep}, r2.Vec{X: left + i*(column+gap) + column, Y: top}})
	}
}

// notes are the cautions on the first page of the PDF.
func (b *formBlock) notes() []draw.Note {
	return []draw.Note{
		{Heading: "Glue and saw", Lines: []string{
			fmt.Sprintf("Glue the joined template onto a %s mm board. This print is for the face that looks %s when the block sits on the foam: "+
				"away from the foam, so that lines and numbers stay in sight. Up is up; the nose points to the %s.",
				fixed(b.sheet.BlockThickness.MM(), 0), strings.ToLower(b.face.String()), map[bool]string{true: "left", false: "right"}[b.sign > 0]),
			"Lay both blocks of the pair back to back, prints outward, with nose, tail and lines A, B, C true to each other. Drill the holes " +
				"through both and true the edges together: equal blocks make a tip without twist.",
		}},
		{Heading: "Cautions", Lines: []string{
			"Hot-wire polystyrene foam only. Urethane and other foams give off poisonous gases, cyanide among them. Fresh air, no flames.",
			"Wear a fitted respirator for sanding dust and gloves for epoxy.",
			"A twisted tip rolls the aeroplane. Check both chord lines by diagonals and by sighting before you cut.",
			"tipwright measures shape only. It says nothing on strength, attachment, flutter, balance or legality: a new tip may be a major change. " +
				"Follow the kit's designer, your authority and licensed practice.",
		}},
	}
}
