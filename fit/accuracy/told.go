package accuracy

import (
	"regexp"
	"slices"
	"strconv"
)

// What has to be said of a scan that cannot be measured as it stands, or only in part.

var (
	againstCallipers = regexp.MustCompile(`^The scan is ([0-9.]+) mm thick near the tip, the callipers said ([0-9.]+) mm: .* together ([0-9.]+) mm wrong`)
	againstDrawing   = regexp.MustCompile(`^The scan is ([0-9.]+) mm (thicker|thinner) than `)
)

// splitTold returns the error of the amount, mm, by which a message says that the skins lie apart; nil where it says none.
func (c *Case) splitTold(text string) *float64 {
	amount, thinner := "", false
	if m := againstCallipers.FindStringSubmatch(text); m != nil {
		amount, thinner = m[3], millimetres(m[1]) < millimetres(m[2])
	} else if m := againstDrawing.FindStringSubmatch(text); m != nil {
		amount, thinner = m[1], m[2] == "thinner"
	} else {
		return nil
	}
	off := millimetres(amount)
	if thinner {
		off = -off
	}
	off -= c.Scan.SplitUpper.Shift.Z
	return &off
}

// millimetres reads a number that one of the patterns has let pass.
func millimetres(s string) float64 {
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		panic(err)
	}
	return v
}

// told says whether the scan was refused or one of the cautions that the condition calls for was said.
func (d *Condition) told(o *Outcome) bool {
	return o.Refused != "" || slices.ContainsFunc(d.Must, func(code string) bool { return slices.Contains(o.Cautions, code) })
}
