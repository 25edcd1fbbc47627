package outbox

import (
	"cmp"
	"html/template"
	"slices"
	"strings"

	"tipwright/scan/sheet"
)

// refusedView is what the page of a refused delivery shows.
type refusedView struct {
	*Record
	Heading string
	Why     []MessageRecord
	Others  []messageGroup
	Scan    []string // how to scan again
	NoSheet bool
	Blank   string
	Read    bool // at least one scan was read
	Seen    []seenScan
}

// seenScan is a picture of one scan's points.
type seenScan struct {
	File    string
	Picture template.HTML
}

// refusedPage renders the page that says what is wrong and what to do.
func refusedPage(d *Delivery, r *Record) ([]byte, error) {
	v := refusedView{Record: r, NoSheet: d.Identity.Sheet.File == ""}
	v.Heading = cmp.Or(r.Name, d.Identity.Aircraft) + ", " + strings.ToLower(sideTitle(r.Side))
	for _, g := range grouped(r) {
		if g.Level == "refusal" {
			v.Why = g.Messages
		} else {
			v.Others = append(v.Others, g)
		}
	}
	// A wing sheet that cannot be read is mended at the desk; a scan of the wing is not at fault.
	if slices.ContainsFunc(v.Why, func(m MessageRecord) bool { return m.Code != "sheet" }) {
		v.Scan = howToScan()
	}
	for _, s := range r.Scans {
		v.Read = v.Read || s.Format != ""
	}
	for _, info := range d.Scans {
		if g := newGlimpse(info.some); g != nil {
			v.Seen = append(v.Seen, seenScan{info.Source.File, inline(g.picture(info.Source.File))})
		}
	}
	if v.NoSheet {
		v.Blank = sheet.Blank()
	}
	return render("refused.tmpl.html", v)
}

// howToScan is advice for scanning a wing with a phone. That photographs of a marked, dull skin are good to
// some tenths of a millimetre and a walked depth scan to about a centimetre is published (De Waele et al.,
// Sensors 26 (2026) 1251; Teo & Yang, Dev. Built Env. 2023, 100169); the rest is common practice, no source.
func howToScan() []string {
	return []string{
		"Use photogrammetry: many overlapping photographs, good to a few tenths of a millimetre. A depth sensor that is walked along the wing is good to about a centimetre, too coarse for low spots.",
		"Make the skin dull and give it something to see: removable matt spray, chalk, or small bits of thin masking tape, but not over the places you worry about.",
		"Even light from all sides. No sun patches, no moving shadows, nobody leaning on the wing.",
		"Block the aileron at the designer's neutral and leave it there. Keep clamps and stands off the outboard 300 mm.",
		"Go over the top, round the nose and under the wing in one walk and close the loop, so that upper and lower skin belong together.",
		"Take in the whole edge of the tip rib's face, and at least 300 mm of the wing inboard of it; 600 mm is better.",
		"Tape the chord at the tip rib, nose to tail, with a straightedge at each end, to half a millimetre, and write it into the wing sheet.",
		"Export as PLY, STL or OBJ. A name that begins with left or right says which wing it is; left-2 is a repeat of left, and two scans are better than one.",
	}
}
