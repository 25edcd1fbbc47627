package outbox

import (
	"io"
	"net/url"
	"path"
	"slices"
	"strings"

	"tipwright/scan"
)

// Entry is one line of the shop's page: about one delivery; about an aircraft as a whole if Side is empty;
// about the shop if Aircraft is empty as well.
type Entry struct {
	Aircraft string
	Name     string // of an aircraft: as its wing sheet has it; empty if no delivery tells it
	Side     string // "left", "right", "pair" or empty
	Verdict  string // "good", "caution" or "refused"; empty if no delivery stands
	Messages []scan.Message
	Link     string   // of the delivery's folder from the page, "marsh-wren/left/"; empty if none stands
	Stale    bool     // the delivery is not of what lies in the inbox now
	Gone     bool     // the scans were taken away, or the aircraft's folder; what stands is kept
	Problem  string   // why the delivery could not be made; empty if it could
	Strange  []string // of an aircraft: files in its folder that are neither scan nor sheet
	Advice   string   // of an aircraft: what may be wrong with those files; empty if there are none
	Earlier  []string // of an aircraft: links of the deliveries that newer ones replaced
}

// indexView is what the shop's page shows.
type indexView struct {
	Messages []scan.Message
	Aircraft []*craftView
}

// craftView is one aircraft with its deliveries.
type craftView struct {
	Entry
	Sides   []sideEntry
	Replace []linkView
}

// sideEntry is one delivery.
type sideEntry struct {
	Entry
	Title  string
	Tone   string // class of its colour
	State  string // in a word
	Report string // link
	Image  string // link; empty if there is none
	Shows  string // what is to be seen there
	Open   string // what the report is
	Say    []string
	More   int // messages that are not shown
}

type linkView struct{ Text, Link string }

// answers reports whether a note of a comparison is what the builder asks it: are both tips the same?
func answers(code string) bool { return code == "pair-same" || code == "one-template-pair" }

// mostSaid is how many cautions of a delivery the shop's page shows; its report has them all.
const mostSaid = 2

// Index writes the shop's page. Links lead only into the outbox itself. The same entries give the same
// bytes.
func Index(w io.Writer, entries []Entry) error {
	var v indexView
	byName := map[string]*craftView{}
	for _, e := range entries {
		if e.Aircraft == "" {
			v.Messages = append(v.Messages, e.Messages...)
			continue
		}
		c := byName[e.Aircraft]
		if c == nil {
			c = &craftView{Entry: Entry{Aircraft: e.Aircraft}}
			byName[e.Aircraft] = c
			v.Aircraft = append(v.Aircraft, c)
		}
		if e.Side != "" {
			c.Sides = append(c.Sides, newSideEntry(e))
			continue
		}
		c.Entry = e
		for _, l := range e.Earlier {
			c.Replace = append(c.Replace, linkView{earlierTitle(l), linkTo(l) + ReportName})
		}
	}
	page, err := render("index.tmpl.html", v)
	if err != nil {
		return err
	}
	_, err = w.Write(page)
	return err
}

// earlierTitle names a replaced delivery by its folder, "marsh-wren/earlier/left-0a1b2c3d4e/".
func earlierTitle(link string) string {
	side, digits, _ := strings.Cut(path.Base(link), "-")
	if !slices.Contains([]string{"left", "right", "pair"}, side) {
		return path.Base(link)
	}
	return sideTitle(side) + " " + digits
}

func newSideEntry(e Entry) sideEntry {
	s := sideEntry{Entry: e, Tone: "note", State: "not made yet"}
	s.Title, s.Open = sideTitle(e.Side), "report"
	switch {
	case e.Verdict == "refused":
		s.Open = "page that says what to do"
	case e.Side == "pair":
		s.Open = "comparison"
	}
	if e.Verdict != "" {
		s.Tone, s.State = e.Verdict, e.Verdict
	}
	if e.Stale {
		s.Tone, s.State = "caution", "out of date"
	}
	if e.Link != "" {
		s.Report = linkTo(e.Link) + ReportName
		if e.Verdict == "good" || e.Verdict == "caution" {
			s.Image, s.Shows = linkTo(e.Link)+MapPNGName, "Filler map"
			if e.Side == "pair" {
				s.Image, s.Shows = linkTo(e.Link)+DifferencesSVGName, "Differences"
			}
		}
	}
	for _, m := range e.Messages {
		if m.Level == scan.Note && !(e.Side == "pair" && answers(m.Code)) {
			continue
		}
		if len(s.Say) < mostSaid {
			s.Say = append(s.Say, m.Text)
		} else {
			s.More++
		}
	}
	return s
}

// linkTo makes a link of a folder's path below the page: each part escaped, so that no name passes for
// another place.
func linkTo(path string) string {
	parts := strings.Split(path, "/")
	for i, p := range parts {
		parts[i] = url.PathEscape(p)
	}
	return "./" + strings.Join(parts, "/")
}
