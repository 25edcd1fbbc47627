package outbox

import "tipwright/section"

// Schema is the number of the layout of result.json that this program writes and reads.
const Schema = 1

// Record is result.json: the machine's copy of a side's report. Units stand in the names; a measured
// quantity carries its expanded uncertainty U, k = 2 (JCGM 100:2008). What was not measured is absent.
// Outlines lie in the section frame and run from the trailing edge over the upper surface to the leading
// edge and back along the lower.
type Record struct {
	Schema   int          `json:"schema"`
	Program  Program      `json:"program"`
	Aircraft string       `json:"aircraft"`
	Name     string       `json:"name,omitempty"` // what the builder calls the aircraft
	Side     string       `json:"side"`
	Sheet    *FileRecord  `json:"sheet,omitempty"`
	Airfoil  *FileRecord  `json:"airfoil,omitempty"` // the coordinate file
	Scans    []ScanRecord `json:"scans"`

	Pose    *PoseRecord    `json:"pose,omitempty"` // of the first scan
	Section *SectionRecord `json:"section,omitempty"`
	Aileron *AileronRecord `json:"aileron,omitempty"`
	Nominal *NominalRecord `json:"nominal,omitempty"`
	StandIn *StandInRecord `json:"stand_in,omitempty"` // what the departures refer to where there is no nominal

	LowSpots         []SpotRecord  `json:"low_spots,omitzero"`
	HighSpots        []SpotRecord  `json:"high_spots,omitzero"`
	DetectionLimitMM *float64      `json:"detection_limit_mm,omitempty"`
	Filler           *FillerRecord `json:"filler,omitempty"`

	Target    *OutlineRecord   `json:"target,omitempty"`
	Templates []TemplateRecord `json:"templates,omitzero"`
	Gauges    []TemplateRecord `json:"gauges,omitzero"` // the target itself, from the tip rib inboard

	Verdict  string          `json:"verdict"` // "good", "caution" or "refused"
	Messages []MessageRecord `json:"messages"`
}

// Program is the program that made a delivery.
type Program struct {
	Name    string `json:"name"`
	Version string `json:"version"`
}

// FileRecord is a file of the inbox.
type FileRecord struct {
	File   string `json:"file"`
	SHA256 string `json:"sha256"`
}

// ScanRecord is one scan. One that was not read has no format, one that was not measured no units.
type ScanRecord struct {
	FileRecord
	Format          string  `json:"format,omitempty"`
	Points          int     `json:"points,omitempty"`
	Triangles       int     `json:"triangles,omitempty"`
	Units           string  `json:"units,omitempty"`
	UnitsFrom       string  `json:"units_from,omitempty"` // "sheet", "format", "chord" or "size"
	ScaleCorrection float64 `json:"scale_correction,omitempty"`
}

// PoseRecord says where the wing lies in the scan.
type PoseRecord struct {
	WingFromScan [4][4]float64 `json:"wing_from_scan"` // file units to the wing frame, mm; rows
}

// SectionRecord is the section at the tip rib as scanned, the aileron as it stood.
type SectionRecord struct {
	StationMM    float64          `json:"station_mm"`
	ChordMM      section.Measured `json:"chord_mm"` // the reference chord
	TaperMMPerM  section.Measured `json:"taper_mm_per_m"`
	TwistDegPerM section.Measured `json:"twist_deg_per_m"` // positive: incidence grows inboard
	NoiseMM      float64          `json:"noise_mm"`
	Coverage     float64          `json:"coverage"`
	Unseen       []StretchRecord  `json:"unseen"`
	StationsMM   float64          `json:"stations_mm"`       // how far inboard the scan reaches
	LengthU      float64          `json:"length_u_mm_per_m"` // what tape and scanner leave open of every length
	OutlineUMM   float64          `json:"outline_u_mm"`      // nine tenths of the outline is known at least that well
	FormOffsetMM float64          `json:"form_offset_mm"`    // mean of the form
	OutlineMM    Outline          `json:"outline_mm"`
}

// StretchRecord is a stretch of the outline at the tip rib that no scan shows.
type StretchRecord struct {
	Surface string  `json:"surface"`
	From    float64 `json:"from_mm"` // aft of the leading edge
	To      float64 `json:"to_mm"`
}

// AileronRecord is the aileron as it stood; trailing edge down is positive.
type AileronRecord struct {
	DeflectionDeg section.Measured `json:"deflection_deg"`
	NeutralDeg    float64          `json:"neutral_deg"` // the designer's, which the target shows
}

// NominalRecord is the section on the drawing, placed, the aileron faired, with the departures from it at
// the tip rib.
type NominalRecord struct {
	Airfoil     string  `json:"airfoil"`
	RMSMM       float64 `json:"rms_mm"`
	WorstLowMM  float64 `json:"worst_low_mm"`
	WorstHighMM float64 `json:"worst_high_mm"`
	OutlineMM   Outline `json:"outline_mm"`
}

// StandInRecord is the section that stands in for the nominal of a wing whose airfoil was not given: a smooth
// outline through the scan's own points.
type StandInRecord struct {
	Airfoil string `json:"airfoil"`
}

// SpotRecord is a low spot, with DepthMM, or a high one, with HeightMM.
type SpotRecord struct {
	Surface   string            `json:"surface"`
	XMM       float64           `json:"x_mm"`
	StationMM float64           `json:"station_mm"`
	FromNose  float64           `json:"from_nose_mm"` // taped round the skin
	LengthMM  float64           `json:"length_mm"`
	WidthMM   float64           `json:"width_mm"`
	DepthMM   *section.Measured `json:"depth_mm,omitempty"`
	HeightMM  *section.Measured `json:"height_mm,omitempty"`
	AreaCM2   float64           `json:"area_cm2"`
	VolumeML  section.Measured  `json:"volume_ml"`
	Act       bool              `json:"act"`
}

// FillerRecord is the filler that the band needs in all.
type FillerRecord struct {
	VolumeML section.Measured `json:"volume_ml"`
	MassG    float64          `json:"mass_g"` // mixed and cured
}

// OutlineRecord is the finished surface at the tip rib, the aileron at neutral.
type OutlineRecord struct {
	UMM       float64 `json:"u_mm,omitempty"`
	OutlineMM Outline `json:"outline_mm"`
}

// TemplateRecord is one outline to saw to.
type TemplateRecord struct {
	Name      string   `json:"name"`
	StationMM float64  `json:"station_mm"`
	OffsetMM  float64  `json:"offset_mm"`
	UMM       float64  `json:"u_mm"`
	OutlineMM Outline  `json:"outline_mm"`
	Files     []string `json:"files"`

	// Of form blocks only, in the section frame: the holes' middles and diameter, and the x of the reference lines.
	HolesMM        [][2]float64 `json:"holes_mm,omitempty"`
	HoleDiameterMM float64      `json:"hole_diameter_mm,omitempty"`
	LinesMM        []float64    `json:"lines_mm,omitempty"`

	// Of form blocks only: the marks that two people pulling the wire call out, on either surface, section frame,
	// from 0 at the tail to the last at the nose, at equal shares of the surface's length.
	WireMarksMM *WireMarks `json:"wire_marks_mm,omitempty"`
}

// WireMarks are the numbered marks of a form block, x and z, mm.
type WireMarks struct {
	Upper Outline `json:"upper"`
	Lower Outline `json:"lower"`
}

// MessageRecord is one thing that the builder is told.
type MessageRecord struct {
	Code  string `json:"code"`
	Level string `json:"level"`
	Text  string `json:"text"`
}

// Outline is a polyline in the section frame, mm: x aft, z up.
type Outline [][2]float64
