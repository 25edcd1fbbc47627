package shop

import (
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"time"

	"github.com/BurntSushi/toml"
)

// SettingsName is the name of a shop's settings file, which lies in the shop's folder and need not be there.
const SettingsName = "shop.toml"

// Settings are what whoever looks after a shop may set in its settings file:
//
//	scans_at_once = 2        # left out: as many as there are processors
//	quiet  = "3s"            # how long a file must have been left alone before it is read
//	rescan = "5m"            # how often the inbox is looked through even if no change is announced
//	[limits]                 # for one scan
//	file   = "1 GB"
//	points = 20000000
//	memory = "1500 MB"
//	time   = "10m"
//
// Sizes count in 1024s, as memory is sold.
type Settings struct {
	Parallel int // scans at once; 0: as many as there are processors
	Quiet    time.Duration
	Rescan   time.Duration
	Limits   Limits
}

// DefaultSettings returns the settings of a shop without a settings file.
func DefaultSettings() Settings {
	return Settings{Quiet: 3 * time.Second, Rescan: 5 * time.Minute, Limits: DefaultLimits}
}

// parallel returns how many scans are made at once.
func (s Settings) parallel() int { return cmp.Or(max(s.Parallel, 0), runtime.GOMAXPROCS(0)) }

// settingsFile is the settings file as it is written.
type settingsFile struct {
	ScansAtOnce int    `toml:"scans_at_once"`
	Quiet       string `toml:"quiet"`
	Rescan      string `toml:"rescan"`
	Limits      struct {
		File   string `toml:"file"`
		Points int    `toml:"points"`
		Memory string `toml:"memory"`
		Time   string `toml:"time"`
	} `toml:"limits"`
}

// mostSettings bounds the settings file, bytes.
const mostSettings = 64 << 10

// ReadSettings reads the settings of the shop at root. Where there is no settings file, or it leaves
// something out, the defaults stand. The error names the file, and the key and the mend where a value
// cannot be.
func ReadSettings(root string) (Settings, error) {
	return ReadSettingsFile(filepath.Join(root, SettingsName))
}

// ReadSettingsFile reads a settings file; see [ReadSettings].
func ReadSettingsFile(path string) (Settings, error) {
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist), errors.Is(err, syscall.ENOTDIR): // that it is no shop is told by the inbox
		return DefaultSettings(), nil
	case err != nil:
		return Settings{}, err
	case !info.Mode().IsRegular() || info.Size() > mostSettings:
		return Settings{}, fmt.Errorf("%s: this is no settings file; a few lines of text are expected", path)
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return Settings{}, err
	}
	s, err := parseSettings(string(data))
	if err != nil {
		return Settings{}, fmt.Errorf("%s: %w", path, err)
	}
	return s, nil
}

func parseSettings(text string) (Settings, error) {
	var f settingsFile
	known := []string{"scans_at_once", "quiet", "rescan", "limits", "limits.file", "limits.points", "limits.memory", "limits.time"}
	meta, err := toml.Decode(text, &f)
	if syntax, ok := errors.AsType[toml.ParseError](err); ok {
		return Settings{}, fmt.Errorf("line %d: %s", syntax.Position.Line, syntax.Message)
	}
	if err != nil {
		return Settings{}, mistyped(err)
	}
	for _, k := range meta.Keys() { // which the decoder takes in capitals too, but nobody else
		if !slices.Contains(known, k.String()) {
			return Settings{}, fmt.Errorf("%s: there is no such setting. The settings are scans_at_once, quiet, rescan, and limits.file, limits.points, limits.memory and limits.time", k)
		}
	}
	return f.settings(meta)
}

// mistyped says how a value is to be written that is of another kind than its key wants, such as a number for
// a size. The library tells line and key only in the text of its error.
func mistyped(err error) error {
	text := strings.TrimPrefix(err.Error(), "toml: ")
	where, rest, _ := strings.Cut(text, ` (last key "`)
	key, _, _ := strings.Cut(rest, `"`)
	example := map[string]string{
		"scans_at_once": "scans_at_once = 2", "quiet": `quiet = "3s"`, "rescan": `rescan = "5m"`, "limits": "[limits] on a line of its own",
		"limits.file": `file = "1 GB"`, "limits.points": "points = 20000000", "limits.memory": `memory = "1500 MB"`, "limits.time": `time = "10m"`,
	}[key]
	if example == "" {
		return errors.New(text)
	}
	return fmt.Errorf("%s: %s cannot be written so. Write it as in %s", where, key, example)
}

// settings checks what was written and puts it in the place of the defaults.
func (f *settingsFile) settings(meta toml.MetaData) (Settings, error) {
	s := DefaultSettings()
	s.Parallel = f.ScansAtOnce
	return s, errors.Join(
		within(meta, int64(f.ScansAtOnce), 1, 256, strconv.Itoa, "scans_at_once"),
		take(meta, f.Quiet, &s.Quiet, time.ParseDuration, time.Second, time.Hour, durationText, "quiet"),
		take(meta, f.Rescan, &s.Rescan, time.ParseDuration, 10*time.Second, 24*time.Hour, durationText, "rescan"),
		take(meta, f.Limits.File, &s.Limits.File, parseBytes, 1<<10, 1<<40, bytesText, "limits", "file"),
		take(meta, strconv.Itoa(f.Limits.Points), &s.Limits.Points, strconv.Atoi, 1000, 1<<31-1, strconv.Itoa, "limits", "points"),
		take(meta, f.Limits.Memory, &s.Limits.Memory, parseBytes, 128<<20, 1<<40, bytesText, "limits", "memory"),
		take(meta, f.Limits.Time, &s.Limits.Time, time.ParseDuration, time.Second, 24*time.Hour, durationText, "limits", "time"))
}

// take reads one value if the file holds its key, and checks it.
func take[T ~int | ~int64](meta toml.MetaData, text string, into *T, parse func(string) (T, error), least, most T, say func(T) string, key ...string) error {
	if !meta.IsDefined(key...) {
		return nil
	}
	v, err := parse(text)
	if err != nil || v < least || v > most {
		example := say(*into)
		if meta.Type(key...) == "String" {
			example = strconv.Quote(example)
		}
		return fmt.Errorf("%s = %s cannot be: between %s and %s is possible. Write it as in %s = %s",
			strings.Join(key, "."), text, say(least), say(most), key[len(key)-1], example)
	}
	*into = v
	return nil
}

// within checks a bare number.
func within(meta toml.MetaData, v int64, least, most int, say func(int) string, key string) error {
	n := int(v)
	return take(meta, strconv.FormatInt(v, 10), &n, strconv.Atoi, least, most, say, key)
}

// byteUnit is a unit of memory and disk.
type byteUnit struct {
	name  string
	bytes int64
}

// byteUnits lists the units, the largest first.
func byteUnits() []byteUnit { return []byteUnit{{"GB", 1 << 30}, {"MB", 1 << 20}, {"KB", 1 << 10}} }

// parseBytes reads "1500 MB".
func parseBytes(text string) (int64, error) {
	for _, u := range byteUnits() {
		number, ok := strings.CutSuffix(strings.ToUpper(strings.TrimSpace(text)), u.name)
		if !ok {
			continue
		}
		v, err := strconv.ParseFloat(strings.TrimSpace(number), 64)
		if err != nil || !(v >= 0 && v*float64(u.bytes) < 1<<60) {
			return 0, fmt.Errorf("%q is no size", text)
		}
		return int64(v * float64(u.bytes)), nil
	}
	return 0, fmt.Errorf("%q is no size with a unit", text)
}

// bytesText writes a size so that parseBytes reads the same.
func bytesText(n int64) string {
	for _, u := range byteUnits() {
		if n%u.bytes == 0 {
			return fmt.Sprintf("%d %s", n/u.bytes, u.name)
		}
	}
	return strconv.FormatFloat(float64(n)/1024, 'f', -1, 64) + " KB"
}

// durationText writes a time without the zeros of time.Duration: "10m", not "10m0s".
func durationText(d time.Duration) string {
	text := d.String()
	if strings.HasSuffix(text, "m0s") {
		text = strings.TrimSuffix(text, "0s")
	}
	if strings.HasSuffix(text, "h0m") {
		text = strings.TrimSuffix(text, "0m")
	}
	return text
}
