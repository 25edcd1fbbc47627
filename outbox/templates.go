package outbox

import (
	"bytes"
	"cmp"
	"fmt"
	"io"
	"runtime"
	"slices"
	"strings"

	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/fit"
	"tipwright/outbox/draw"
	"tipwright/scan/sheet"
	"tipwright/section"
)

// NamedDrawing is one drawing for the workshop. Its files are Name with .pdf, .svg and .dxf.
type NamedDrawing struct {
	Name    string // "inboard-block"
	Drawing *draw.Drawing
}

// shopDrawings returns every drawing of one side for the workshop: form blocks, check gauges, and what helps
// to set them up. See the makers of each for the errors.
func shopDrawings(r *fit.Result, s *sheet.Sheet, id Identity) ([]NamedDrawing, error) {
	var out []NamedDrawing
	for _, draw := range []func(*fit.Result, *sheet.Sheet, Identity) ([]NamedDrawing, error){
		templateDrawings, gaugeDrawings, foamDrawing, flangeDrawing, couponDrawing,
	} {
		d, err := draw(r, s, id)
		if err != nil {
			return nil, err
		}
		out = append(out, d...)
	}
	return out, nil
}

// templateDrawings returns the drawings of the form blocks. It returns an error if a template's outline
// cannot be a block: no points, no side, nothing left to saw.
func templateDrawings(r *fit.Result, s *sheet.Sheet, id Identity) ([]NamedDrawing, error) {
	if len(r.Templates) == 0 {
		return nil, nil
	}
	marks, err := newBlockMarks(r, s)
	if err != nil {
		return nil, err
	}
	var out []NamedDrawing
	for _, t := range r.Templates {
		b, err := newFormBlock(t, marks, r, s, id)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", t.Name, err)
		}
		out = append(out, NamedDrawing{t.Name, b.draw()})
	}
	return out, nil
}

// drawnFiles writes each drawing as PDF for the sheet's paper, as SVG and as DXF, and those that are of use on
// paper alone as PDF. The first page of each lists them all.
func drawnFiles(drawings, onPaper []NamedDrawing, s *sheet.Sheet) ([]File, error) {
	page, trouble := pageOf(s)
	all := slices.Concat(drawings, onPaper)
	plan, err := newPrintPlan(all, page)
	if err != nil {
		return nil, err
	}
	formats := []struct {
		end   string
		write func(io.Writer, *draw.Drawing) error
	}{
		{".pdf", func(w io.Writer, d *draw.Drawing) error { return draw.PDF(w, d, page) }}, {".svg", draw.SVG}, {".dxf", draw.DXF},
	}
	out := make([]File, len(drawings)*len(formats)+len(onPaper))
	err = inParallel(len(out), runtime.GOMAXPROCS(0), func(i int) error {
		n, f := min(i/len(formats), len(drawings)), i%len(formats)
		if n == len(drawings) {
			n, f = i-len(drawings)*(len(formats)-1), 0
		}
		d := *all[n].Drawing
		d.Plan = plan.note(all[n].Name)
		if trouble != "" {
			d.Notes = append([]draw.Note{{Heading: "Caution: printer not corrected", Lines: []string{trouble}}}, d.Notes...)
		}
		var b bytes.Buffer
		if err := formats[f].write(&b, &d); err != nil {
			return fmt.Errorf("%s%s: %w", all[n].Name, formats[f].end, err)
		}
		out[i] = File{all[n].Name + formats[f].end, b.Bytes()}
		return nil
	})
	if err != nil {
		return nil, err
	}
	return out, nil
}

// pageOf returns the paper of the wing sheet. If the bars that it holds cannot be those of this paper, the
// printer is not corrected, and trouble says so in a builder's words.
func pageOf(s *sheet.Sheet) (page draw.Page, trouble string) {
	page = draw.Page{
		Name: s.Paper.Name, Width: s.Paper.Width, Height: s.Paper.Height,
		MeasuredX: s.BarX.MM(), MeasuredZ: s.BarZ.MM(),
		Advice: "To take the printer's error out, write what the bars measure into the wing sheet, under [print] as bar_x and bar_z " +
			"with the unit, and the drawings are made again.",
	}
	if _, _, err := page.Correction(); err != nil {
		page.MeasuredX, page.MeasuredZ = 0, 0
		trouble = fmt.Sprintf("The wing sheet's bar_x and bar_z were not used: %v. Print at 100 %%, measure the bars again and write what "+
			"they measure, or take the two lines out of the sheet.", err)
	}
	return page, trouble
}

// Face is the side of a board that a template is printed for.
type face int

// The faces.
const (
	facesOutboard face = iota
	facesInboard
)

func (f face) String() string { return [...]string{"OUTBOARD", "INBOARD"}[f] }

// paperSign returns +1 if x aft runs to the right on a template that is printed for the given face of a
// board, and -1 if it runs to the left; z up is up on every template.
//
// Wing frame: X aft, Y to starboard, Z up, right-handed; a left wing stretches from its tip at Y = 0 to
// Y > 0. Whoever looks at the board's outboard face stands outboard of it and looks inboard, which is
// along +Y at a left wing. The right hand of one who looks along f with his head towards u is f × u, and
// Y × Z = X: aft is to the right, the nose points to the left. At a right wing inboard is -Y, so all is
// the other way round, and so it is once more for the inboard face, at which one looks from inboard.
//
//	                      looks along   his right hand   nose points to the
//	left,  outboard face      +Y             +X (aft)         left
//	left,  inboard face       -Y             -X (forward)     right
//	right, outboard face      -Y             -X (forward)     right
//	right, inboard face       +Y             +X (aft)         left
func paperSign(side section.Side, f face) float64 {
	sign := side.Inboard()
	if f == facesInboard {
		sign = -sign
	}
	return sign
}

// onPaper takes a point of the section frame to the paper, whose origin is the section's.
func onPaper(sign float64, p r2.Vec) r2.Vec { return r2.Vec{X: sign * p.X, Y: p.Y} }

// signature says where a drawing comes from: scans, by name and the beginning of their SHA-256, and program.
func signature(id Identity) string {
	var scans []string
	for _, f := range id.Files {
		scans = append(scans, fmt.Sprintf("%s %.8s", f.File, f.SHA256))
	}
	if len(scans) > 3 {
		scans = append(scans[:3], fmt.Sprintf("and %d more", len(scans)-3))
	}
	return fmt.Sprintf("Scan %s. tipwright %s.", strings.Join(scans, ", "), id.Version)
}

// stamp is what every drawing says of the wing that it is for.
func stamp(r *fit.Result, s *sheet.Sheet, id Identity) []string {
	return []string{
		fmt.Sprintf("%s, %s wing. Reference chord %s mm (k = 2)%s.", aircraftName(s, id), r.Survey.Side, plusMinus(r.Survey.Chord, 1), untaped(s)),
		"Shape only: says nothing on strength, attachment, flutter or legality.",
		signature(id),
	}
}

// untaped ends what is said of the size of a wing whose chord was not taped: it may be off by a per cent.
func untaped(s *sheet.Sheet) string {
	if s.Chord == 0 {
		return ", NOT TAPED: do not cut"
	}
	return ""
}

// sheetTitle names a drawing on each of its sheets.
func sheetTitle(r *fit.Result, s *sheet.Sheet, id Identity, what string) string {
	warning := ""
	if s.Chord == 0 {
		warning = " (SIZE NOT TAPED)"
	}
	return fmt.Sprintf("%s, %s wing: %s%s", aircraftName(s, id), r.Survey.Side, what, warning)
}

// offsetWords says how far from the finished surface the edge lies that the wire rides on, mm, and why.
func offsetWords(offset float64, s *sheet.Sheet) string {
	w, k, l := s.WireDiameter.MM(), s.Kerf.MM(), s.Laminate.MM()
	return fmt.Sprintf("finished surface %s mm: laminate %s off, half of kerf %s less wire %s on", signed(offset, 2), fixed(l, 2), fixed(k, 2), fixed(w, 2))
}

// aircraftName returns what the builder calls the aircraft.
func aircraftName(s *sheet.Sheet, id Identity) string { return cmp.Or(s.Name, id.Aircraft) }
