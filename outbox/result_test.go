package outbox

import (
	"bytes"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"pgregory.net/rapid"

	"tipwright/scan"
	"tipwright/section"
)

func sampleRecord(t testing.TB) (*Record, []byte) {
	t.Helper()
	d := sampleDelivery(t, section.Left)
	r := newRecord(&d, []File{{"inboard-block.svg", nil}, {"inboard-block.pdf", nil}, {"inboard-blocks.txt", nil}, {"outboard-block.pdf", nil}})
	data, err := r.encode()
	if err != nil {
		t.Fatal(err)
	}
	return r, data
}

// The names are fixed by the project's page of design, section 8.
func TestResultHoldsTheFixedNames(t *testing.T) {
	_, data := sampleRecord(t)
	var v any
	if err := json.Unmarshal(data, &v); err != nil {
		t.Fatal(err)
	}
	for _, path := range []string{
		"schema", "program.name", "program.version", "aircraft", "side", "sheet.file", "sheet.sha256",
		"scans.0.file", "scans.0.sha256", "scans.0.format", "scans.0.points", "scans.0.triangles", "scans.0.units",
		"scans.0.units_from", "scans.0.scale_correction", "pose.wing_from_scan.0.0", "pose.wing_from_scan.3.3",
		"section.station_mm", "section.chord_mm.value", "section.chord_mm.u", "section.twist_deg_per_m.value", "section.twist_deg_per_m.u",
		"section.noise_mm", "section.coverage", "section.outline_mm.0.1", "aileron.deflection_deg.value", "aileron.deflection_deg.u",
		"nominal.airfoil", "nominal.rms_mm", "nominal.worst_low_mm", "nominal.worst_high_mm", "nominal.outline_mm.0.1",
		"low_spots.0.surface", "low_spots.0.x_mm", "low_spots.0.station_mm", "low_spots.0.length_mm", "low_spots.0.width_mm",
		"low_spots.0.depth_mm.value", "low_spots.0.depth_mm.u", "low_spots.0.area_cm2", "low_spots.0.volume_ml.value", "low_spots.0.volume_ml.u",
		"high_spots.0.height_mm.value", "high_spots.0.height_mm.u", "detection_limit_mm", "filler.volume_ml.value", "filler.volume_ml.u", "filler.mass_g",
		"target.outline_mm.0.1", "templates.0.name", "templates.0.station_mm", "templates.0.offset_mm", "templates.0.outline_mm.0.1", "templates.0.files.0",
		"verdict", "messages.0.code", "messages.0.level", "messages.0.text",
	} {
		if _, ok := lookUp(v, path); !ok {
			t.Errorf("%s is missing", path)
		}
	}
	for _, path := range []string{"low_spots.0.height_mm", "high_spots.0.depth_mm", "stand_in", "airfoil"} {
		if got, ok := lookUp(v, path); ok {
			t.Errorf("%s is %v, but was not measured", path, got)
		}
	}
}

// lookUp follows a dotted path into decoded JSON.
func lookUp(v any, path string) (any, bool) {
	for _, key := range strings.Split(path, ".") {
		switch x := v.(type) {
		case map[string]any:
			next, ok := x[key]
			if !ok {
				return nil, false
			}
			v = next
		case []any:
			i, err := strconv.Atoi(key)
			if err != nil || i < 0 || i >= len(x) {
				return nil, false
			}
			v = x[i]
		default:
			return nil, false
		}
	}
	return v, true
}

func TestResultSaysWhatIsTrue(t *testing.T) {
	r, _ := sampleRecord(t)
	if r.Verdict != "caution" || r.Messages[0].Level != "caution" || r.Messages[0].Code != "aileron-off-neutral" {
		t.Errorf("verdict %q, first message %+v", r.Verdict, r.Messages[0])
	}
	if d := r.Aileron.DeflectionDeg; d.Value != 2.0111 || d.U != 0.1776 { // 0.0351 and 0.0031 rad
		t.Errorf("aileron %+v", d)
	}
	if w := r.Section.TwistDegPerM; w.Value != 0.5214 || w.U != 0.4183 { // 9.1e-6 and 7.3e-6 rad/mm
		t.Errorf("twist %+v", w)
	}
	want := sampleDents()[0].volume() / 1000
	if v := r.LowSpots[0].VolumeML.Value; math.Abs(v-want) > 0.001 {
		t.Errorf("volume %v ml, want %v", v, want)
	}
	if f := r.Templates[0].Files; !slices.Equal(f, []string{"inboard-block.pdf", "inboard-block.svg"}) {
		t.Errorf("files %v", f)
	}
	if u := r.Section.Unseen; len(u) != 1 || u[0].Surface != "lower" || u[0].From < 500 || u[0].To > 610 {
		t.Errorf("unseen %+v", u)
	}
	if s := r.LowSpots[1]; s.Surface != "lower" || math.Abs(s.FromNose-446) > 1 {
		t.Errorf("second spot %+v", s)
	}
}

// Same inputs, same bytes; and reading gives back what was written.
func TestResultReadsBack(t *testing.T) {
	r, data := sampleRecord(t)
	path := filepath.Join(t.TempDir(), ResultName)
	if err := os.WriteFile(path, data, 0o644); err != nil {
		t.Fatal(err)
	}
	got, err := ReadResult(path)
	if err != nil {
		t.Fatal(err)
	}
	again, err := got.encode()
	if err != nil || !bytes.Equal(again, data) {
		t.Errorf("the copy differs: %v", err)
	}
	if *got.LowSpots[0].DepthMM != *r.LowSpots[0].DepthMM {
		t.Error("a depth differs")
	}
}

func TestResultHasNoSuperfluousDigits(t *testing.T) {
	_, data := sampleRecord(t)
	for _, word := range strings.FieldsFunc(string(data), func(r rune) bool { return strings.ContainsRune(" ,:[]{}\n", r) }) {
		if v, err := strconv.ParseFloat(word, 64); err == nil && !strings.HasPrefix(word, `"`) {
			if _, digits, _ := strings.Cut(word, "."); len(digits) > 9 || math.IsNaN(v) || strings.Contains(word, "-0") && v == 0 {
				t.Errorf("the number %s", word)
			}
		}
	}
}

// A number that is not finite must not be delivered as if it were one.
func TestResultRefusesNaN(t *testing.T) {
	d := withoutTemplates(t, section.Left)
	d.Result.NominalRMS = math.NaN()
	if err := Deliver(t.TempDir(), d); err == nil {
		t.Error("delivered a NaN")
	}
}

func TestMessagesAreSaidOnce(t *testing.T) {
	d := sampleDelivery(t, section.Left)
	m := scan.Notef("points-dropped", "3 points were dropped.")
	d.Scans[0].Messages, d.Messages = []scan.Message{m}, []scan.Message{m, scan.Cautionf("airfoil-doubtful", "Check the file.")}
	got := d.messages()
	if len(got) != 5 || got[0].Level != scan.Caution || got[1].Level != scan.Caution || got[2] != m {
		t.Errorf("%+v", got)
	}
}

// However an outline comes, it leaves with 400 to 2000 points that stay within 0.01 mm of it.
func TestThinnedKeepsItsPromise(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(3, 9000).Draw(t, "n")
		a, b := rapid.Float64Range(20, 2000).Draw(t, "a"), rapid.Float64Range(1, 300).Draw(t, "b")
		wave := rapid.Float64Range(0, 0.3).Draw(t, "wave")
		p := make([]r2.Vec, n)
		for i := range p {
			s, c := math.Sincos(2 * math.Pi * float64(i) / float64(n-1))
			p[i] = vec(a*c, b*s+wave*math.Sin(40*c))
		}
		got := thinned(p)
		if len(got) < leastOutline || len(got) > mostOutline {
			t.Fatalf("%d points from %d", len(got), n)
		}
		k := 0
		for i := range p { // both run the same way, so the nearest segment only moves on
			best := math.Inf(1)
			for j := k; j+1 < len(got) && j < k+60; j++ {
				d := math.Sqrt(fromSegment2(p[i], vec(got[j][0], got[j][1]), vec(got[j+1][0], got[j+1][1])))
				if d < best {
					best, k = d, j
				}
			}
			if best > 0.01 {
				t.Fatalf("point %d of %d lies %v mm off", i, n, best)
			}
		}
	})
}

func TestReadResultRefuses(t *testing.T) {
	_, good := sampleRecord(t)
	change := func(from, to string) string { return strings.Replace(string(good), from, to, 1) }
	for name, text := range map[string]string{
		"empty": "", "cut": string(good[:len(good)/2]), "another layout": change(`"schema": 1`, `"schema": 2`),
		"no side": change(`"side": "left"`, `"side": "both"`), "verdict": change(`"verdict": "caution"`, `"verdict": "fine"`),
		"no section": change(`"section"`, `"sections"`), "chord": change(`"chord_mm": {`, `"chord_mm": {"value": -3, "u": 0}, "x": {`),
	} {
		if _, err := readRecord(strings.NewReader(text)); err == nil {
			t.Errorf("%s: read without an error", name)
		}
	}
	if _, err := ReadResult(filepath.Join(t.TempDir(), "none.json")); !os.IsNotExist(err) {
		t.Errorf("a file that is not there: %v", err)
	}
}

func FuzzReadResult(f *testing.F) {
	_, data := sampleRecord(f)
	f.Add(data[:2000])
	f.Add([]byte(`{"schema":1,"side":"left","verdict":"refused","scans":[],"messages":[]}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		r, err := readRecord(bytes.NewReader(data))
		if err != nil {
			return
		}
		if r.Verdict != "refused" && r.Section == nil {
			t.Error("a section is missing")
		}
		if _, err := r.encode(); err != nil {
			t.Errorf("what was read cannot be written: %v", err)
		}
	})
}
