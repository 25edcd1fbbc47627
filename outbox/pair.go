package outbox

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"

	"tipwright/fit"
	"tipwright/scan"
	"tipwright/scan/sheet"
	"tipwright/section"
)

// DifferencesName is the table of a pair's differences.
const DifferencesName = "differences.csv"

// PairDelivery is everything that goes into the folder of the comparison.
type PairDelivery struct {
	Identity Identity     // Side is "pair"; Files are the left scans, then the right ones
	Sheet    *sheet.Sheet // never nil
	Scans    []ScanInfo
	Result   *fit.PairResult
}

// PairRecord is the result.json of a pair: the left wing, mirrored, against the right one. Differences are
// left less right.
type PairRecord struct {
	*Record
	ToleranceMM     float64           `json:"tolerance_mm"`
	ChordMM         ContrastRecord    `json:"chord_mm"`
	ThicknessMM     ContrastRecord    `json:"thickness_mm"`
	AreaCM2         ContrastRecord    `json:"area_cm2"`
	TwistDegPerM    ContrastRecord    `json:"twist_deg_per_m"`
	SweepDeg        ContrastRecord    `json:"sweep_deg"` // of the leading edge, aft going inboard
	AileronDeg      *ContrastRecord   `json:"aileron_deg,omitempty"`
	ShiftMM         [2]float64        `json:"shift_mm"` // x, z: lays the left outline on the right one
	TurnDeg         *section.Measured `json:"turn_deg,omitempty"`
	AsTheyLie       SpreadRecord      `json:"as_they_lie"`
	LaidTogether    SpreadRecord      `json:"laid_together"`
	TargetWorstMM   float64           `json:"target_worst_mm"`
	DifferenceUMM   float64           `json:"difference_u_mm"`
	Same            bool              `json:"same"`
	OneTemplatePair bool              `json:"one_template_pair"`
	Needs           []NeedRecord      `json:"needs"`
	Outline         []OutlineDiff     `json:"outline_differences"`
}

// ContrastRecord is one quantity on both sides.
type ContrastRecord struct {
	Left       section.Measured `json:"left"`
	Right      section.Measured `json:"right"`
	Difference section.Measured `json:"difference"`
	Differ     bool             `json:"differ"` // by more than the uncertainty
}

// SpreadRecord sums up the differences of two outlines.
type SpreadRecord struct {
	RMSMM   float64 `json:"rms_mm"`
	WorstMM float64 `json:"worst_mm"`
}

// NeedRecord is a stretch of one wing that lies below the other.
type NeedRecord struct {
	Side     string           `json:"side"`
	Surface  string           `json:"surface"`
	FromMM   float64          `json:"from_mm"`
	ToMM     float64          `json:"to_mm"`
	DepthMM  float64          `json:"depth_mm"`
	VolumeML section.Measured `json:"volume_ml"`
}

// OutlineDiff is the differences along one skin at the tip rib, from the left wing's trace to trace.
type OutlineDiff struct {
	Surface      string    `json:"surface"`
	XMM          []float64 `json:"x_mm"`
	AsTheyLie    []float64 `json:"as_they_lie_mm"`
	LaidTogether []float64 `json:"laid_together_mm"`
	UMM          []float64 `json:"u_mm"`
	Seen         []bool    `json:"seen"`
}

// Pair writes the comparison of both sides into dir, an empty folder that the caller then publishes.
func Pair(dir string, d PairDelivery) error {
	if d.Result == nil || d.Sheet == nil {
		return errors.New("there is no comparison to deliver")
	}
	if d.Sheet.Chord == 0 {
		d.Result = withoutTape(d.Result)
	}
	record := newPairRecord(&d)
	data, err := encodeJSON(record)
	if err != nil {
		return err
	}
	page, err := pairPage(&d, record)
	if err != nil {
		return err
	}
	return writeFiles(dir, []File{
		{ResultName, data}, {ReportName, page}, {DifferencesName, differencesCSV(&d)},
		{DifferencesSVGName, pairPicture(d.Result).svgFile()}})
}

// withoutTape returns a comparison that judges nothing: two scans whose size no tape has set may differ by two per
// cent in size alone, which would pass for filler that one of the wings needs.
func withoutTape(p *fit.PairResult) *fit.PairResult {
	bare := *p
	bare.Same, bare.OneTemplatePair, bare.Needs = false, false, nil
	bare.Messages = []scan.Message{scan.Cautionf("pair-untaped", "No chord was taped, so each wing has the size that its scanner gave it, which may be wrong by 1 %%. "+
		"Whether the tips are alike cannot be told, nor what either needs. Tape the chord at the tip rib and write it into the wing sheet.")}
	return &bare
}

// RefusePair writes the comparison's page for two sides that cannot be compared, such as when one of them
// was refused.
func RefusePair(dir string, d PairDelivery, messages []scan.Message) error {
	return Refuse(dir, Delivery{Identity: d.Identity, Sheet: d.Sheet, Scans: d.Scans}, messages)
}

func newPairRecord(d *PairDelivery) *PairRecord {
	p := d.Result
	r := &PairRecord{
		Record: newHead(&d.Identity, d.Sheet, sorted(p.Messages)), ToleranceMM: decimals(p.Tolerance, 4),
		ChordMM:      contrastRecord(p.Chord, 1),
		ThicknessMM:  contrastRecord(p.Thickness, 1),
		AreaCM2:      contrastRecord(p.Area, squareCM),
		TwistDegPerM: contrastRecord(p.Twist, perMetre*degreesPerRadian),
		SweepDeg:     contrastRecord(p.Sweep, degreesPerRadian),
		ShiftMM:      [2]float64{decimals(p.Shift.X, 4), decimals(p.Shift.Y, 4)},
		AsTheyLie:    SpreadRecord{decimals(p.RawRMS, 4), decimals(p.RawWorst, 4)},
		LaidTogether: SpreadRecord{decimals(p.ShapeRMS, 4), decimals(p.ShapeWorst, 4)},
		Same:         p.Same, OneTemplatePair: p.OneTemplatePair,
		TargetWorstMM: decimals(p.TargetWorst, 4), DifferenceUMM: decimals(p.U, 4), Needs: []NeedRecord{},
	}
	describeScans(r.Record, d.Scans)
	if p.Aileron != nil {
		c := contrastRecord(*p.Aileron, degreesPerRadian)
		r.AileronDeg = &c
	}
	// Two outlines that were hardly seen cannot be laid together: the turn is then not known.
	if !math.IsInf(p.Turn.U, 0) && !math.IsNaN(p.Turn.U) {
		turn := measured(p.Turn, degreesPerRadian, 4)
		r.TurnDeg = &turn
	}
	for _, n := range p.Needs {
		r.Needs = append(r.Needs, NeedRecord{n.Side.String(), string(n.Surface), decimals(n.From, 3), decimals(n.To, 3),
			decimals(n.Depth, 3), measured(n.Volume, millilitres, 3)})
	}
	r.Outline = []OutlineDiff{outlineDiff(p, fit.Upper), outlineDiff(p, fit.Lower)}
	return r
}

func contrastRecord(c fit.Contrast, scale float64) ContrastRecord {
	return ContrastRecord{measured(c.Left, scale, 4), measured(c.Right, scale, 4), measured(c.Difference, scale, 4), c.Differ}
}

func outlineDiff(p *fit.PairResult, surface fit.Surface) OutlineDiff {
	d := OutlineDiff{Surface: string(surface)}
	for _, t := range p.Traces {
		if t.Surface == surface {
			d.XMM, d.Seen = append(d.XMM, decimals(t.X, 2)), append(d.Seen, t.Seen)
			d.AsTheyLie, d.LaidTogether = append(d.AsTheyLie, decimals(t.Raw, 4)), append(d.LaidTogether, decimals(t.Shape, 4))
			d.UMM = append(d.UMM, decimals(t.U, 4))
		}
	}
	return d
}

// differencesCSV writes the differences along the outline at the tip rib.
func differencesCSV(d *PairDelivery) []byte {
	t := newTable("aircraft", "surface", "x_mm", "arc_mm", "as_they_lie_mm", "laid_together_mm", "u_mm", "seen")
	for _, p := range d.Result.Traces {
		t.row(plainText(d.Identity.Aircraft), string(p.Surface), number(p.X), number(p.Arc), number(p.Raw), number(p.Shape), number(p.U), yes(p.Seen))
	}
	return t.bytes()
}

// ReadPair reads the result.json of a pair. A refused one has the head only.
func ReadPair(path string) (*PairRecord, error) {
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	r := &PairRecord{Record: &Record{}}
	if err := json.NewDecoder(bytes.NewReader(data)).Decode(r); err != nil {
		return nil, fmt.Errorf("%s: this is no result of a pair: %w", path, err)
	}
	if r.Schema != Schema || r.Side != "pair" {
		return nil, fmt.Errorf("%s: layout %d of side %q is not a pair's of layout %d", filepath.Base(path), r.Schema, r.Side, Schema)
	}
	return r, nil
}
