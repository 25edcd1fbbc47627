package outbox

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/outbox/draw"
	"tipwright/section"
)

// Foam board as it is sold, mm (AASHTO M 230), and the saw's slot (common practice, no source).
const (
	boardLong  = 2440.0
	boardWide  = 1220.0
	boardSmall = 610.0
	sawSlot    = 3.0
)

// tipTwist is what the two ends may be turned against each other, degrees: common practice, no source.
const tipTwist = 0.1

// piecesOf returns how many pieces of wide by high mm come out of a board of long by broad mm, all laid the
// same way, with a saw's slot between neighbours.
func piecesOf(long, broad, wide, high, slot float64) int {
	fit := func(room, piece float64) float64 { return math.Max(0, math.Floor((room+slot)/(piece+slot)+1e-9)) }
	return int(math.Max(fit(long, wide)*fit(broad, high), fit(long, high)*fit(broad, wide)))
}

// cutList says how many boards the sheets take.
func (f *foamBlock) cutList() string {
	var ways []string
	for _, broad := range []float64{boardSmall, boardWide} {
		if n := piecesOf(boardLong, broad, f.wide, f.high, sawSlot); n > 0 {
			boards := (f.sheets + n - 1) / n
			ways = append(ways, fmt.Sprintf("%d of %s by %s mm", boards, fixed(broad, 0), fixed(boardLong, 0)))
		}
	}
	cut := fmt.Sprintf("Cut list: %d pieces of %s by %s mm, %s mm for the saw between them.", f.sheets, fixed(f.wide, 0), fixed(f.high, 0), fixed(sawSlot, 0))
	if len(ways) == 0 {
		return cut + " No usual board is large enough: join boards, the joints staggered."
	}
	return cut + " Boards needed: " + strings.Join(ways, ", or ") + "."
}

// sheetWords says how many sheets it takes and what becomes of the last.
func (f *foamBlock) sheetWords() string {
	words := fmt.Sprintf("%d sheets of %s mm", f.sheets, fixed(f.sheet, 1))
	if f.sheets == 1 {
		words = fmt.Sprintf("One sheet of %s mm", fixed(f.sheet, 1))
	}
	trim := f.sheet - f.last
	if trim <= 0.05 {
		return words + ", none trimmed."
	}
	words = fmt.Sprintf("%s, the last trimmed by %s mm to %s mm", words, fixed(trim, 1), fixed(f.last, 1))
	if f.sheets > 1 && f.last < f.sheet/2 {
		words += fmt.Sprintf(", or the last two to %s mm each", fixed((f.sheet+f.last)/2, 1))
	}
	return words + "."
}

// glueWords says in which order the sheets are glued and which are turned.
func (f *foamBlock) glueWords() string {
	if f.sheets == 1 {
		return "One sheet needs no gluing."
	}
	return fmt.Sprintf("Glue from inboard to outboard, 1 to %d. Before sawing, mark on every piece which of its ends lay foremost in its board. Put the odd "+
		"ones in with that end to the nose and turn the even ones end for end: a board that is thicker at one end then makes no wedge.", f.sheets)
}

// notes give the measurements in words, with the table of twist.
func (f *foamBlock) notes(side section.Side) []draw.Note {
	size := []string{
		fmt.Sprintf("The block is %s by %s by %s mm: %s Boards vary by millimetres: measure yours, and measure the stack before you trim.",
			fixed(f.wide, 0), fixed(f.high, 0), fixed(f.length, 1), f.sheetWords()),
		f.cutList(),
		f.glueWords() + " Use a glue that the wire melts, away from the surface to be cut.",
		fmt.Sprintf("Cut both end faces square to the lower edge. An end face is square when both its diagonals are %s mm.", fixed(f.diagonal(), 1)),
	}
	place := []string{"The lower long edge is the reference edge. Heights above it, the same on both end faces; seen from inboard the nose points the other way:"}
	for _, b := range f.ends {
		place = append(place, fmt.Sprintf("%s end: nose mark %s mm, chord line %s mm, tail mark %s mm; line B %s mm from the front face.",
			b.endTitle(), fixed(b.noseMark().Y-f.bottom, 1), fixed(-f.bottom, 1),
			fixed(b.tail.Y-f.bottom, 1), fixed(b.lines[1]-f.left, 1)))
	}
	place = append(place,
		"Then check from block to block, between the faces that lie on the foam: "+f.crossWords()+" If it does not fit, the blocks are shifted along the chord.",
		"Twist does not show in those: sight along both chord lines from one end, and lay a level or straightedges across both blocks at A and at C.")
	return []draw.Note{
		{Heading: "Foam", Lines: size},
		{Heading: "Place the form blocks, " + side.String() + " wing", Lines: place},
		f.twistTable(),
		{Heading: "Cautions", Lines: []string{
			"A twisted tip rolls the aeroplane. Keep both tips alike.",
			"Hot-wire polystyrene foam only. Urethane and other foams give off poisonous gases, cyanide among them. Fresh air, no flames.",
			"tipwright measures shape only and says nothing on strength, attachment, flutter or legality.",
		}},
	}
}

// crossWords says how far it is from nose to tail across the foam, both ways.
func (f *foamBlock) crossWords() string {
	a, b := f.ends[0], f.ends[len(f.ends)-1]
	one := fixed(math.Hypot(r2.Norm(r2.Sub(a.noseMark(), b.tail)), f.length), 1)
	two := fixed(math.Hypot(r2.Norm(r2.Sub(b.noseMark(), a.tail)), f.length), 1)
	if one == two {
		return "nose mark of the one to tail mark of the other, both ways, " + one + " mm each."
	}
	return "outboard nose mark to inboard tail mark " + one + " mm, inboard nose mark to outboard tail mark " + two + " mm."
}

// twistTable says how much a tail that is off twists the tip, and how much may be.
func (f *foamBlock) twistTable() draw.Note {
	limit := math.Floor(10*f.noseTail*math.Tan(tipTwist*math.Pi/180)) / 10
	out := draw.Note{Heading: "How much twist", Lines: []string{
		fmt.Sprintf("Keep it under %s°: less than %s mm at the tail. If one tail stands higher or lower than it should, the tip is twisted by", fixed(tipTwist, 1), fixed(limit, 1)),
	}}
	for _, d := range []float64{0.5, 1, 2, 3, 5, 10} {
		out.Lines = append(out.Lines, fmt.Sprintf("%s mm at the tail: %s°", fixed(d, 1), fixed(math.Atan(d/f.noseTail)*180/math.Pi, 3)))
	}
	return out
}
