package shop

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"tipwright/scan"
)

func TestSettings(t *testing.T) {
	root := t.TempDir()
	if s, err := ReadSettings(root); err != nil || s != DefaultSettings() {
		t.Errorf("no settings file: %+v, %v", s, err)
	}
	write(t, root, map[string]string{SettingsName: `scans_at_once = 3
quiet = "10s"
[limits]
file = "2 GB"
memory = "1.5GB"
time = "90s"
`})
	want := Settings{Parallel: 3, Quiet: 10 * time.Second, Rescan: 5 * time.Minute,
		Limits: Limits{File: 2 << 30, Points: DefaultLimits.Points, Memory: 3 << 29, Time: 90 * time.Second}}
	if s, err := ReadSettings(root); err != nil || s != want {
		t.Errorf("%+v, %v, want %+v", s, err, want)
	}
	if err := os.Remove(filepath.Join(root, SettingsName)); err != nil {
		t.Fatal(err)
	}
	write(t, root, map[string]string{SettingsName + "/": ""})
	if _, err := ReadSettings(root); err == nil {
		t.Error("a folder was read as settings")
	}
}

func TestSettingsRefused(t *testing.T) {
	for text, want := range map[string]string{
		"quick = 3":                                   "quick: there is no such setting",
		"Quiet = \"9s\"":                              "Quiet: there is no such setting",
		"sCAns_At_onCe = -1":                          "no such setting",
		"[LIMITS]\npoints = 2000":                     "no such setting",
		"[limits]\npoint = 3":                         "limits.point: there is no such setting",
		"scans_at_once = 0":                           "scans_at_once = 0 cannot be: between 1 and 256",
		"scans_at_once = -9223372036854775808":        "cannot be",
		"quiet = \"3\"":                               `Write it as in quiet = "3s"`,
		"rescan = \"1s\"":                             "between 10s and 24h",
		"[limits]\nfile = \"9 PB\"":                   `Write it as in file = "1 GB"`,
		"[limits]\nfile = 3":                          `line 2: limits.file cannot be written so. Write it as in file = "1 GB"`,
		"quiet = 3":                                   `line 1: quiet cannot be written so. Write it as in quiet = "3s"`,
		"limits = 3":                                  "line 1: limits cannot be written so. Write it as in [limits] on a line of its own",
		"\nscans_at_once = \"two\"":                   "line 2: scans_at_once cannot be written so. Write it as in scans_at_once = 2",
		"[limits]\nmemory = \"1e300 GB\"":             "limits.memory = 1e300 GB cannot be",
		"[limits]\nmemory = \"NaN GB\"":               "cannot be",
		"[limits]\nmemory = \"1 MB\"":                 "between 128 MB and 1024 GB",
		"[limits]\npoints = 5":                        "limits.points = 5 cannot be",
		"[limits]\ntime = \"0s\"":                     "limits.time = 0s cannot be",
		"quiet = \"3s\"\nquiet = \"4s\"":              "line 2",
		"quiet = ":                                    "line 1",
		"\x00":                                        "line 1",
		strings.Repeat("[limits]\n", 2):               "limits",
		"[limits]\nfile = \"1 KB\"\ntime = \"never\"": "limits.time = never",
	} {
		if _, err := parseSettings(text); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %s", text, err, want)
		}
	}
}

// What a refusal tells to write is read as twice the limit that was gone over, and a refusal for a limit that
// was since raised is no longer up to date.
func TestLimitsRaised(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := Limits{
			File:   rapid.Int64Range(1<<10, 1<<38).Draw(t, "file"),
			Points: rapid.IntRange(1000, 1<<29).Draw(t, "points"),
			Memory: rapid.Int64Range(128<<20, 1<<38).Draw(t, "memory"),
			Time:   time.Duration(rapid.Int64Range(1000, 36_000_000).Draw(t, "ms")) * time.Millisecond,
		}
		limit := rapid.SampledFrom([]string{LimitFile, LimitPoints, LimitMemory, LimitTime}).Draw(t, "limit")
		over := l.Over(limit)
		s, err := parseSettings("[limits]\n" + limit + " = " + over.higher())
		if err != nil {
			t.Fatal(err)
		}
		want := DefaultLimits
		switch limit {
		case LimitFile:
			want.File = 2 * l.File
		case LimitPoints:
			want.Points = 2 * l.Points
		case LimitMemory:
			want.Memory = 2 * l.Memory
		case LimitTime:
			want.Time = 2 * l.Time
		}
		if s.Limits != want {
			t.Fatalf("%s: read as %+v, want %+v", over, s.Limits, want)
		}
		standing := Record{Verdict: refused, Messages: []scan.Message{*refusal(over)}}
		if l.raised(standing) || !want.raised(standing) {
			t.Fatalf("under %+v raised is %v, under %+v %v", l, l.raised(standing), want, want.raised(standing))
		}
	})
}

// Whatever stands in a settings file, what is read from it can be.
func FuzzSettings(f *testing.F) {
	f.Add("scans_at_once = 3\nquiet = \"10s\"\nrescan = \"1h\"\n[limits]\nfile = \"2 GB\"\npoints = 1000\nmemory = \"1.5GB\"\ntime = \"90s\"\n")
	f.Add("limits = 3")
	f.Add("limits.file = \"1e9 GB\"")
	f.Add("scans_at_once = -9223372036854775808")
	f.Fuzz(func(t *testing.T, text string) {
		s, err := parseSettings(text)
		if err != nil {
			return
		}
		l := s.Limits
		if s.Parallel < 0 || s.Parallel > 256 || s.Quiet < time.Second || s.Quiet > time.Hour || s.Rescan < 10*time.Second || s.Rescan > 24*time.Hour ||
			l.File < 1<<10 || l.Points < 1000 || l.Points > 1<<31-1 || l.Memory < 128<<20 || l.Time < time.Second || l.Time > 24*time.Hour {
			t.Fatalf("%+v", s)
		}
	})
}
