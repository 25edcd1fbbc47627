package outbox

import (
	"math"
	"path/filepath"
	"slices"
	"strings"

	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/fit"
	"tipwright/scan"
	"tipwright/scan/sheet"
	"tipwright/section"
)

const (
	degreesPerRadian = 180 / math.Pi
	perMetre         = 1000.0 // from per millimetre
	millilitres      = 1e-3   // from mm³
	squareCM         = 1e-2   // from mm²
)

// verdicts are the words of result.json, by the gravest message.
func verdict(messages []scan.Message) string {
	worst := scan.Note
	for _, m := range messages {
		worst = max(worst, m.Level)
	}
	return [...]string{scan.Note: "good", scan.Caution: "caution", scan.Refusal: "refused"}[worst]
}

// newHead makes the part of a record that every delivery has.
func newHead(id *Identity, s *sheet.Sheet, messages []scan.Message) *Record {
	r := &Record{
		Schema: Schema, Program: Program{"tipwright", id.Version},
		Aircraft: id.Aircraft, Side: id.Side, Scans: []ScanRecord{},
		Verdict: verdict(messages), Messages: []MessageRecord{},
	}
	if s != nil {
		r.Name = s.Name
	}
	r.Sheet, r.Airfoil = fileRecord(id.Sheet), fileRecord(id.Airfoil)
	for _, f := range id.Files {
		r.Scans = append(r.Scans, ScanRecord{FileRecord: FileRecord{f.File, f.SHA256}})
	}
	for _, m := range messages {
		r.Messages = append(r.Messages, MessageRecord{m.Code, m.Level.String(), m.Text})
	}
	return r
}

func fileRecord(s scan.Source) *FileRecord {
	if s.File == "" {
		return nil
	}
	return &FileRecord{s.File, s.SHA256}
}

// newRecord makes the record of a whole delivery; templates are the files that were drawn for it.
func newRecord(d *Delivery, templates []File) *Record {
	r := newHead(&d.Identity, d.Sheet, d.messages())
	describeScans(r, d.Scans)
	res, sv := d.Result, d.Result.Survey
	r.Pose = poseRecord(sv.WingFromScan)
	r.Section = sectionRecord(res)
	if res.Deflection != nil {
		r.Aileron = &AileronRecord{measured(*res.Deflection, degreesPerRadian, 4), decimals(d.Sheet.Droop*degreesPerRadian, 4)}
	}
	r.nominal(res)
	r.LowSpots, r.HighSpots = []SpotRecord{}, []SpotRecord{}
	for _, s := range res.LowSpots {
		r.LowSpots = append(r.LowSpots, spotRecord(s, sv, true))
	}
	for _, s := range res.HighSpots {
		r.HighSpots = append(r.HighSpots, spotRecord(s, sv, false))
	}
	limit := decimals(res.DetectionLimit, 4)
	r.DetectionLimitMM = &limit
	r.Filler = &FillerRecord{measured(res.Filler.Volume, millilitres, 3), decimals(res.Filler.Mass, 2)}
	r.Target = &OutlineRecord{OutlineMM: thinned(res.Target)}
	r.Templates, r.Gauges = templateRecords(res.Templates, templates), templateRecords(res.Gauges, templates)
	if len(res.Templates) > 0 {
		r.Target.UMM = r.Templates[0].UMM
		// Where the marks cannot be placed no block can be drawn, and the drawing says so.
		if marks, err := newBlockMarks(res, d.Sheet); err == nil {
			marks.record(r.Templates)
			recordWireMarks(r.Templates, res.Templates)
		}
	}
	return r
}

// record notes the marks in the records of the blocks that carry them.
func (m *blockMarks) record(blocks []TemplateRecord) {
	for i := range blocks {
		b := &blocks[i]
		for _, h := range m.holes {
			b.HolesMM = append(b.HolesMM, [2]float64{decimals(h.at.X, 4), decimals(h.at.Y, 4)})
			b.HoleDiameterMM = holeDiameter
		}
		for _, x := range m.lines {
			b.LinesMM = append(b.LinesMM, decimals(x, 4))
		}
	}
}

// recordWireMarks notes where the numbered marks of the blocks stand.
func recordWireMarks(blocks []TemplateRecord, of []fit.Template) {
	for i, t := range of {
		o, err := newBlockOutline(t.Outline)
		if err != nil {
			return // no block can be drawn
		}
		places := func(surface []r2.Vec) (out Outline) {
			for _, p := range wirePlaces(surface) {
				out = append(out, [2]float64{decimals(p.at.X, 4), decimals(p.at.Y, 4)})
			}
			return out
		}
		blocks[i].WireMarksMM = &WireMarks{Upper: places(o.upper()), Lower: places(o.lower())}
	}
}

// newRefusal makes the record of a delivery that only says what is wrong.
func newRefusal(d *Delivery, why []scan.Message) *Record {
	for i := range why {
		why[i].Level = scan.Refusal
	}
	r := newHead(&d.Identity, d.Sheet, sorted(slices.Concat(why, d.messages())))
	describeScans(r, d.Scans)
	return r
}

// messages gathers what all steps had to say, the gravest first, each once.
func (d *Delivery) messages() []scan.Message {
	all := slices.Clone(d.Messages)
	for _, s := range d.Scans {
		all = append(all, s.Messages...)
		if d.Result == nil && s.Survey != nil {
			all = append(all, s.Survey.Messages...)
		}
	}
	if d.Result != nil {
		all = append(all, d.Result.Survey.Messages...)
		all = append(all, d.Result.Messages...)
	}
	return sorted(all)
}

func sorted(messages []scan.Message) []scan.Message {
	var once []scan.Message
	for _, m := range messages {
		if !slices.Contains(once, m) {
			once = append(once, m)
		}
	}
	slices.SortStableFunc(once, func(a, b scan.Message) int { return int(b.Level) - int(a.Level) })
	return once
}

// describeScans adds what was found in each scan that was read.
func describeScans(r *Record, scans []ScanInfo) {
	for _, info := range scans {
		for i := range r.Scans {
			s := &r.Scans[i]
			if s.File != info.Source.File || s.SHA256 != info.Source.SHA256 {
				continue
			}
			s.Format, s.Points, s.Triangles = info.Format, info.Points, info.Triangles
			if v := info.Survey; v != nil {
				s.Units, s.UnitsFrom, s.ScaleCorrection = string(v.Units), v.UnitFrom, decimals(v.Correction, 6)
			}
		}
	}
}

// poseRecord keeps nine digits of the rotation: a part in 1e9 of a 100 m scan is a tenth of a micrometre.
func poseRecord(t section.Transform) *PoseRecord {
	p := &PoseRecord{t.Matrix()}
	for i := range p.WingFromScan {
		for j, v := range p.WingFromScan[i] {
			n := 9
			if j == 3 {
				n = 4
			}
			p.WingFromScan[i][j] = decimals(v, n)
		}
	}
	return p
}

func sectionRecord(res *fit.Result) *SectionRecord {
	sv := res.Survey
	return &SectionRecord{
		ChordMM:      measured(sv.Chord, 1, 4),
		TaperMMPerM:  measured(sv.Taper, perMetre, 4),
		TwistDegPerM: measured(sv.Twist, perMetre*degreesPerRadian, 4),
		NoiseMM:      decimals(sv.Noise, 4),
		Coverage:     decimals(sv.Coverage, 4),
		Unseen:       unseenStretches(res),
		StationsMM:   decimals(sv.Stations, 1),
		LengthU:      decimals(sv.ScaleRel*perMetre, 4),
		OutlineUMM:   decimals(res.OutlineU, 4),
		FormOffsetMM: decimals(res.OffsetMean, 4),
		OutlineMM:    thinned(res.AsBuilt),
	}
}

// unseenStretches lists the runs of traces without points, by surface.
func unseenStretches(res *fit.Result) []StretchRecord {
	out := []StretchRecord{}
	open := false
	for _, t := range res.Sections {
		surface := string(surfaceOf(&res.Survey.Map, t.Arc))
		if t.Seen {
			open = false
			continue
		}
		x := decimals(math.Max(t.X, 0), 1)
		if !open || out[len(out)-1].Surface != surface {
			out = append(out, StretchRecord{surface, x, x})
			open = true
		}
		last := &out[len(out)-1]
		last.From, last.To = math.Min(last.From, x), math.Max(last.To, x)
	}
	return out
}

func surfaceOf(m *section.Map, arc float64) fit.Surface {
	if arc <= m.NoseArc {
		return fit.Upper
	}
	return fit.Lower
}

// nominal fills what is said about the drawing, or of the section that stands in for it.
func (r *Record) nominal(res *fit.Result) {
	name := ""
	if a := res.Survey.Loft.Airfoil; a != nil {
		name = a.Name
	}
	if res.Survey.StandIn || len(res.Nominal) == 0 {
		r.StandIn = &StandInRecord{name}
		return
	}
	r.Nominal = &NominalRecord{
		Airfoil: name, RMSMM: decimals(res.NominalRMS, 4),
		WorstLowMM: decimals(res.WorstLow, 4), WorstHighMM: decimals(res.WorstHigh, 4),
		OutlineMM: thinned(res.Nominal),
	}
}

// grown returns how many times longer than at the tip rib the outline is at a station.
func grown(l *section.Loft, station float64) float64 {
	if !(l.Chord > 0) {
		return 1
	}
	return l.ChordAt(station) / l.Chord
}

func spotRecord(s fit.Spot, sv *section.Survey, low bool) SpotRecord {
	m, l := &sv.Map, &sv.Loft
	r := SpotRecord{
		Surface: string(s.Surface), XMM: decimals(s.X, 1), StationMM: decimals(s.Station, 1),
		FromNose: decimals(math.Abs(s.Arc-m.NoseArc)*grown(l, s.Station), 1),
		LengthMM: decimals(s.Length, 1), WidthMM: decimals(s.Width, 1),
		AreaCM2: decimals(s.Area*squareCM, 2), VolumeML: measured(s.Volume, millilitres, 3), Act: s.Act,
	}
	depth := measured(s.Depth, 1, 4)
	if low {
		r.DepthMM = &depth
	} else {
		r.HeightMM = &depth
	}
	return r
}

// templateRecords joins outlines with the files that carry their name.
func templateRecords(list []fit.Template, files []File) []TemplateRecord {
	out := []TemplateRecord{}
	for _, t := range list {
		r := TemplateRecord{
			Name: t.Name, StationMM: decimals(t.Station, 2), OffsetMM: decimals(t.Offset, 4), UMM: decimals(t.U, 4),
			OutlineMM: thinned(t.Outline), Files: []string{},
		}
		for _, f := range files {
			if base := strings.TrimSuffix(f.Name, filepath.Ext(f.Name)); base == t.Name || strings.HasPrefix(base, t.Name+"-part") {
				r.Files = append(r.Files, f.Name)
			}
		}
		slices.Sort(r.Files)
		out = append(out, r)
	}
	return out
}
