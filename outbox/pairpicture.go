package outbox

import (
	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/fit"
)

// DifferencesSVGName is the picture of a pair's differences. The reports of both wings, which are made before it
// and stand without it, show their link to the comparison where this picture is to be found.
const DifferencesSVGName = "differences.svg"

// pairPicture draws the differences of both skins on one sheet, for the shop's page and for print.
func pairPicture(p *fit.PairResult) *picture {
	const width, margin, head = 640.0, 12.0, 58.0
	out := &picture{title: "Left against right: difference of the skins, mm", width: width}
	upper, lower := pairChart(p, fit.Upper, width), pairChart(p, fit.Lower, width)
	out.height = head + upper.height + lower.height
	out.area(ground, box(0, 0, width, out.height))
	out.words(ink, 19, vec(margin, 24), startAt, "Left against right").bold = true
	out.words(muted, 13, vec(margin, 45), startAt, "Left less right in mm, square to the skin. Blue: the left wing lies lower; orange: higher.")
	out.lay(upper, head)
	out.lay(lower, head+upper.height)
	return out
}

// lay puts another picture onto this one, its top at a height.
func (p *picture) lay(other *picture, top float64) {
	for _, m := range other.marks {
		m.at.Y += top
		loops := make([][]r2.Vec, len(m.loops))
		for i, l := range m.loops {
			loops[i] = make([]r2.Vec, len(l))
			for k, q := range l {
				loops[i][k] = vec(q.X, q.Y+top)
			}
		}
		m.loops = loops
		p.marks = append(p.marks, m)
	}
}
