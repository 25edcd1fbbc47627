package draw

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// What stands on a sheet beside the drawing, in sheet coordinates. Letters are never smaller than small.
const (
	small = 2.5 // mm, height of capitals
	thin  = 0.13
	plain = 0.25
)

// furniture returns what stands on the sheet of tile i beside the drawing.
func furniture(d *Drawing, l *layout, i int) []*Layer {
	t := l.tiles[i]
	mark := &Layer{Name: "MARKS", Pen: Pen{Width: plain}}
	fine := &Layer{Name: "FRAME", Pen: Pen{Width: thin, Ink: Ink{110, 110, 110}}}
	join := &Layer{Name: "JOINS", Pen: joinPen()}
	fine.Add(Path{corners(l.window), true})
	mark.Add(bars(l)...)
	mark.Add(l.title(d, i)...)
	layers := []*Layer{fine, mark, join}
	if len(l.tiles) > 1 {
		l.joints(t, join, mark)
		layers = append(layers, l.pageMap(i)...)
	}
	return layers
}

func corners(b box) []r2.Vec {
	return []r2.Vec{b.lo, {X: b.hi.X, Y: b.lo.Y}, b.hi, {X: b.lo.X, Y: b.hi.Y}}
}

// bars returns the two bars that check the printer: one corner, from which each runs to a tick. Lengths
// count from the middle of a line to the middle of a line.
func bars(l *layout) []Element {
	o := r2.Vec{X: edge + barInset, Y: edge + barInset}
	right := r2.Vec{X: o.X + l.bars.X, Y: o.Y}
	top := r2.Vec{X: o.X, Y: o.Y + l.bars.Y}
	out := []Element{
		Line{o, right}, Line{r2.Add(right, r2.Vec{Y: -1.5}), r2.Add(right, r2.Vec{Y: 3})},
		Line{o, top}, Line{r2.Add(top, r2.Vec{X: -1.5}), r2.Add(top, r2.Vec{X: 3})},
		Text{At: r2.Add(o, r2.Vec{X: l.bars.X / 2, Y: 1.5}), Height: small, Anchor: Middle,
			Words: fmt.Sprintf("bar_x: corner to tick %.1f mm", l.bars.X)},
		Text{At: r2.Add(o, r2.Vec{X: 1.5 + small, Y: l.bars.Y / 2}), Height: small, Anchor: Middle, Angle: math.Pi / 2,
			Words: fmt.Sprintf("bar_z: corner to tick %.1f mm", l.bars.Y)},
	}
	for v := 50.0; v < l.bars.X; v += 50 {
		out = append(out, Line{r2.Add(o, r2.Vec{X: v}), r2.Add(o, r2.Vec{X: v, Y: 1})})
	}
	for v := 50.0; v < l.bars.Y; v += 50 {
		out = append(out, Line{r2.Add(o, r2.Vec{Y: v}), r2.Add(o, r2.Vec{X: 1, Y: v})})
	}
	return out
}

const mapSize = 40.0 // mm, the greatest width of the map of sheets

// title returns the sheet's name and the drawing's, in the strip below the window.
func (l *layout) title(d *Drawing, i int) []Element {
	const big = 5.0
	x, y := edge+side, edge+8.5
	name := "one sheet"
	if len(l.tiles) > 1 {
		name = fmt.Sprintf("sheet %s, %d of %d", l.tiles[i].name(), i+1, len(l.tiles))
	}
	out := []Element{Text{At: r2.Vec{X: x, Y: y + 2.5}, Height: big, Words: name}}
	x += Width(name, big) + 6
	lines := append(Wrap(d.Title, small, l.window.hi.X-mapSize-6-x), l.scaleLine(d))
	if len(lines) > 3 {
		lines = append(lines[:2], lines[len(lines)-1])
	}
	for k, s := range lines {
		out = append(out, Text{At: r2.Vec{X: x, Y: y + float64(len(lines)-1-k)*3.9}, Height: small, Words: s})
	}
	return out
}

// scaleLine says how large the drawing is and what was done about the printer.
func (l *layout) scaleLine(d *Drawing) string {
	switch {
	case d.Scale != "":
		return "Scale " + d.Scale + ". The figures count, not the lines."
	case l.scale.X == 1 && l.scale.Y == 1:
		return "Full size. No printer correction. Print at 100 %."
	}
	return fmt.Sprintf("Full size. Printer correction applied: x %.4f, z %.4f. Print at 100 %%.", l.scale.X, l.scale.Y)
}

// pageMap shows how the sheets lie together and which one this is; i is -1 for none of them.
func (l *layout) pageMap(i int) []*Layer {
	return l.mapAt(i, box{
		r2.Vec{X: l.window.hi.X - mapSize, Y: edge + 8.5},
		r2.Vec{X: l.window.hi.X, Y: edge + strip - 2},
	})
}

// mapAt draws the map of sheets into the upper right corner of a box.
func (l *layout) mapAt(i int, b box) []*Layer {
	grid := &Layer{Name: "MAP", Pen: Pen{Width: thin}}
	here := &Layer{Name: "MAP_HERE", Pen: Pen{Width: thin, Ink: Ink{90, 90, 90}}}
	room := r2.Sub(b.hi, b.lo)
	k := math.Min(room.X/(float64(l.cols)*l.step.X), room.Y/(float64(l.rows)*l.step.Y))
	cell := r2.Scale(k, l.step)
	o := r2.Sub(b.hi, r2.Vec{X: cell.X * float64(l.cols), Y: cell.Y * float64(l.rows)})
	for j, t := range l.tiles {
		lo := r2.Add(o, r2.Vec{X: float64(t.col) * cell.X, Y: float64(l.rows-1-t.row) * cell.Y})
		c := corners(box{lo, r2.Add(lo, cell)})
		if i == j {
			here.Add(Area{c})
		}
		grid.Add(Path{c, true})
		if i < 0 && cell.Y > 2*small && cell.X > 3*small {
			grid.Add(Text{At: r2.Add(lo, r2.Vec{X: cell.X / 2, Y: (cell.Y - small) / 2}), Height: small, Anchor: Middle, Words: t.name()})
		}
	}
	return []*Layer{here, grid}
}
