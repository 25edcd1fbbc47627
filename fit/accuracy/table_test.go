package accuracy

import (
	"bytes"
	"errors"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// good is an outcome that reaches what is wanted.
func good(seed uint64) Outcome {
	o := Outcome{Condition: "base", Seed: seed, PoseRight: true, Limit: 0.2, Figures: map[string]Figure{}, Outlines: map[string]Misfit{}}
	for _, w := range wants() {
		o.Figures[w.name] = Figure{Error: 0.5 * w.rms, U: w.rms}
	}
	for _, name := range []string{AsBuilt, Target, Template} {
		delete(o.Figures, name)
		o.Outlines[name] = Misfit{RMS: 0.02, Worst: -0.1, Within: 0.97}
	}
	o.Spots = []SpotOutcome{{True: 1, InBand: true, Found: true, Stamped: true, Depth: Figure{Error: 0.03, U: 0.1}, Place: 2, Volume: Figure{Error: 0.05, U: 0.1}}}
	for _, name := range []string{Depth, Place, Volume} {
		delete(o.Figures, name)
	}
	return o
}

func rowOf(outcomes ...Outcome) *Row { return Gather(Conditions()[0], outcomes) }

func TestCheckPassesWhatIsGood(t *testing.T) {
	r := &Report{Rows: []*Row{rowOf(good(1), good(2))}, Bound: []BoundRatio{{Name: Chord, Drawn: 2, Formed: 1, Scans: 9}}}
	if broken := r.Check(); len(broken) > 0 {
		t.Error(broken)
	}
	var b bytes.Buffer
	if err := r.Write(&b); err != nil {
		t.Fatal(err)
	}
	for _, line := range []string{
		"| chord, mm | 0.10 | 0.05 | 0.30 | 0.05 | 1 | 100 | reached |",
		"| as-built outline, mm | 0.030 | 0.020 | 0.200 | 0.100 | 1 | 97 | reached |",
		"| volume of a spot, % | 8.0 | 5.0 | 15.0 | 5.0 | 1 | 100 | reached |",
		"| low spots of twice the stated detection limit found | 100 % | 2 of 2 |  |  |  |  | reached |",
		"| chord | 9 | 0.0000 | 2.00 | over | 1.00 |",
	} {
		if !strings.Contains(b.String(), line+"\n") {
			t.Errorf("no line %q in\n%s", line, b.String())
		}
	}
}

func TestCheckTellsWhatIsBroken(t *testing.T) {
	for name, spoil := range map[string]func(o *Outcome){
		"refused":         func(o *Outcome) { o.Refused = "no-wing" },
		"pose right":      func(o *Outcome) { o.PoseRight = false },
		"chord: worst":    func(o *Outcome) { o.Figures[Chord] = Figure{Error: -4, U: 1} },
		"aileron angle":   func(o *Outcome) { o.Figures[Aileron] = Figure{Error: 0.9, U: 1} },
		"outline: rms":    func(o *Outcome) { o.Outlines[Target] = Misfit{RMS: 1, Worst: 1} },
		"false spots":     func(o *Outcome) { o.FalseLow = 3 },
		"volume of a spo": func(o *Outcome) { o.Spots[0].Volume.Error = 0.9 },
	} {
		o := good(3)
		spoil(&o)
		r := &Report{Rows: []*Row{rowOf(o)}}
		if !slices.ContainsFunc(r.Check(), func(s string) bool { return strings.Contains(s, name) }) {
			t.Errorf("%s is not told: %q", name, r.Check())
		}
	}
	found := &Report{Detection: []Detection{{Noise: 0.5, HitsOver: 3, OverLimit: 4}}, Bound: []BoundRatio{{Name: Twist, Formed: 9, Scans: 30}}}
	if got := found.Check(); len(got) != 2 {
		t.Errorf("%q", got)
	}
}

// The rms of a few errors exceeds their standard deviation by chance: the table's values of chi squared (NIST handbook
// 1.3.6.7.4, from memory): 3.841 for one degree of freedom, 16.919 for nine.
func TestOutsideChance(t *testing.T) {
	for n, chi := range map[int]float64{1: 3.841, 9: 16.919} {
		if got, want := chance95(n), math.Sqrt(chi/float64(n)); math.Abs(got-want) > 3e-4 { // three decimals are printed
			t.Errorf("%d errors: %g, want %g", n, got, want)
		}
	}
}

func TestDetectionSaysWhereHitsAndMissesPart(t *testing.T) {
	d := Detect(0.3, []Sought{{Stated: 0.2, Spots: []SpotOutcome{{True: 0.1}, {True: 0.12, Found: true}, {True: 0.5, Found: true}, {True: 0.06}}}})
	if d.Curve != nil || d.parted() != "no curve: all missed up to 0.100, all found from 0.120" || d.OverLimit != 1 || d.HitsOver != 1 {
		t.Errorf("%q: %+v", d.parted(), d)
	}
}

func TestFewScansMayExceedByChance(t *testing.T) {
	o := good(7)
	o.Figures[Twist] = Figure{Error: 0.09, U: 1}
	base, other := rowOf(o), Gather(Conditions()[2], []Outcome{o})
	for _, w := range wants() {
		if w.name != Twist {
			continue
		}
		if rms, _ := base.over(w); !rms {
			t.Error("the base may not exceed what is wanted")
		}
		if rms, _ := other.over(w); rms {
			t.Error("one error of 1.8 standard deviations is chance")
		}
	}
}

// condition returns one of the table's conditions.
func condition(t *testing.T, name string) Condition {
	t.Helper()
	all := Conditions()
	i := slices.IndexFunc(all, func(d Condition) bool { return d.Name == name })
	if i < 0 {
		t.Fatalf("no condition %q", name)
	}
	return all[i]
}

// What the scan cannot show has to be said; a scan of one surface that passes for good breaks the check, and its figures
// count.
func TestCheckWantsWordsWhereTooLittleIsSeen(t *testing.T) {
	unseen := condition(t, "one surface missing")
	told, silent := good(4), good(5)
	told.Cautions = []string{"partly-seen"}
	refused := Outcome{Seed: 6, Refused: "too-little-seen"}
	row := Gather(unseen, []Outcome{told, refused})
	if got := row.check(); len(got) != 0 || row.Told != 2 || row.Delivered != 0 || row.quantities[Chord].n != 0 {
		t.Errorf("%q: %+v", got, row)
	}
	row = Gather(unseen, []Outcome{told, silent, refused})
	if got := row.check(); len(got) != 1 || row.Told != 2 || row.Delivered != 1 || row.quantities[Chord].n != 1 {
		t.Errorf("%q: %+v", got, row)
	}
}

// The amount of a split is read from what the builder is told, with its sign.
func TestAmountOfASplitIsRead(t *testing.T) {
	row := condition(t, "split, callipered")
	c := row.New(41001)
	shift := c.Scan.SplitUpper.Shift.Z
	for text, want := range map[string]float64{
		"The scan is 148.2 mm thick near the tip, the callipers said 146.0 mm: upper and lower skin were put together 2.2 mm wrong, or": 2.2,
		"The scan is 143.0 mm thick near the tip, the callipers said 146.0 mm: upper and lower skin were put together 3.0 mm wrong, or": -3,
		"The scan is 4.1 mm thicker than NACA 2412 at this chord.":                                                                      4.1,
		"The scan is 7.3 mm thinner than NACA 2412 at this chord. ":                                                                     -7.3,
	} {
		if got := c.splitTold(text); got == nil || math.Abs(*got-(want-shift)) > 1e-9 {
			t.Errorf("%q: %v, want %g", text, got, want-shift)
		}
	}
	if got := c.splitTold("The scan is 148.2 mm thick near the tip, the callipers said 148.0 mm."); got != nil {
		t.Errorf("thickness that agrees tells a split of %g", *got)
	}
	told := good(1)
	told.Cautions = []string{"skins-apart"}
	if got := Gather(row, []Outcome{told}).check(); len(got) != 1 {
		t.Errorf("an amount that is not told passes: %q", got)
	}
	off := 3.0
	told.Split = &off
	if got := Gather(row, []Outcome{told}).check(); len(got) != 1 {
		t.Errorf("a wrong amount passes: %q", got)
	}
}

// What is pooled is what the rows hold together, with and without the limits.
func TestPoolsHoldTheRows(t *testing.T) {
	base := rowOf(good(1), good(2))
	far := good(24001)
	far.Figures[Twist] = Figure{Error: 2, U: 1}
	r := &Report{Rows: []*Row{base, Gather(condition(t, "smoothed mesh"), []Outcome{far})}}
	all, usual := r.pools()[0], r.pools()[1]
	if got := all.of(Twist); got.n != 3 || got.coverage() < 66 || got.coverage() > 67 || math.Abs(got.overU-(16+2)) > 1e-9 {
		t.Errorf("all: %+v", got)
	}
	if got := usual.of(Twist); got.n != 2 || got.coverage() != 100 {
		t.Errorf("without the limit: %+v", got)
	}
}

// What the last section says of a row is what the row came to.
func TestReasonsAreThoseOfTheRows(t *testing.T) {
	off := good(24001)
	off.Figures[Scale] = Figure{Error: 2.64, U: 1}
	silent := good(43001)
	silent.Outlines[AsBuilt] = Misfit{RMS: 2, Worst: -10.9}
	r := &Report{Rows: []*Row{rowOf(good(1)), Gather(condition(t, "smoothed mesh"), []Outcome{off}),
		Gather(condition(t, "another airfoil in the sheet"), []Outcome{silent, {Seed: 43002, Refused: "no-wing"}})}}
	got := strings.Join(r.reasons(), "\n")
	for _, want := range []string{"found up to 2.6 mm too far", "the truth in 0 of 1.", "Of 2 scans 1 passed", "up to 10.9 mm wrong"} {
		if !strings.Contains(got, want) {
			t.Errorf("no %q in\n%s", want, got)
		}
	}
	if r.Rows = r.Rows[:1]; strings.Contains(strings.Join(r.reasons(), ""), "smoothed meshes") {
		t.Error("a row that was not measured has a reason")
	}
}

// How many must be found without a miss to show 90 or 95 % with 95 % confidence: the 29 and 59 of MIL-HDBK-1823A and of
// every table of acceptance sampling (from memory).
func TestOutsideLeastShare(t *testing.T) {
	for n, share := range map[int]float64{29: 0.90, 59: 0.95} {
		if leastShare(n) < share || leastShare(n-1) >= share {
			t.Errorf("%d of %d show %g, one fewer %g; want %g between", n, n, leastShare(n), leastShare(n-1), share)
		}
	}
}

// Repeats are scans of the same wing that share nothing else.
func TestRepeatsDiffer(t *testing.T) {
	d := condition(t, "repeats")
	for k := range d.Scans {
		c := d.New(uint64(36_001 + k))
		scans := c.scans()
		if len(scans) != c.Repeats || c.Repeats < 2 || c.Repeats > 3 {
			t.Fatalf("%d repeats, %d scans", c.Repeats, len(scans))
		}
		for i, s := range scans[1:] {
			if before := scans[i]; s.Seed == before.Seed || s.Noise == before.Noise || s.ScaleError == before.ScaleError || s.Points == before.Points {
				t.Errorf("scan %d is like the one before: %+v", i+1, s)
			}
		}
	}
	once := draw(1)
	if got := once.scans(); len(got) != 1 || got[0].Seed != 1 {
		t.Errorf("one scan became %+v", got)
	}
}

func TestSeedsAndNamesAreTheirOwn(t *testing.T) {
	scans := 0
	seen := map[string]bool{}
	for i, d := range Conditions() {
		scans += d.Scans
		if seen[d.Name] || d.Scans < 1 || Seed(i, d.Scans) > Seed(i+1, 0) {
			t.Errorf("%q, %d scans", d.Name, d.Scans)
		}
		seen[d.Name] = true
	}
	if scans < 300 || Conditions()[0].Scans != 100 {
		t.Errorf("%d scans in all, %d of the base", scans, Conditions()[0].Scans)
	}
}

func TestRoundsMakeEachScanOnce(t *testing.T) {
	for _, n := range []int{1, 2, 6, 9, 32, 100} {
		next := 0
		for round := range Rounds {
			made := slices.Collect(roundScans(round, n))
			for _, k := range made {
				if k != next {
					t.Errorf("%d scans: round %d makes %v after %d", n, round, made, next)
				}
				next = k + 1
			}
			if len(made) == 0 && (round == 0 || n >= Rounds) {
				t.Errorf("%d scans: round %d makes none", n, round)
			}
		}
		if next != n {
			t.Errorf("%d of %d scans are made", next, n)
		}
	}
}

// Where a scan cannot be made there is no table of the others, and what is planned comes back in its order.
func TestScansAreMadeAtOnceAndComeInOrder(t *testing.T) {
	m := &measured{cache: &Cache{}, progress: func(string) {}}
	var got []*int
	for i := range 200 {
		got = append(got, plan(m, "", func() (int, error) { return i * i, nil }))
	}
	if err := m.make(); err != nil {
		t.Fatal(err)
	}
	for i, v := range values(got) {
		if v != i*i {
			t.Errorf("scan %d came to %d", i, v)
		}
	}
	broken := errors.New("no such wing")
	plan(m, "the last", func() (int, error) { return 0, broken })
	if err := m.make(); !errors.Is(err, broken) {
		t.Errorf("a scan that cannot be made passes: %v", err)
	}
}

func TestMoreNoiseAllowsMore(t *testing.T) {
	base := draw(1)
	noisy, few, bent := base, base, base
	noisy.Scan.Noise, few.Scan.Points, bent.Scan.Warp = 1, basePoints/4, 0.8
	for name, c := range map[string]struct {
		c    Case
		want float64
	}{"base": {base, 1}, "noisy": {noisy, 2}, "few": {few, 2}} {
		if got := c.c.allowance(); got != c.want {
			t.Errorf("%s: %g", name, got)
		}
	}
	if got := bent.allowance() * 0.03; got < 0.6 || got > 0.61 {
		t.Errorf("0.8 mm of warp allow %g mm of the as-built outline", got)
	}
}

func TestCacheTakesUpWhereItWasBrokenOff(t *testing.T) {
	name := filepath.Join(t.TempDir(), "kept")
	made := 0
	get := func(c *Cache, key string) Outcome {
		o, err := cached(c, key, func() (Outcome, error) { made++; return good(uint64(made)), nil })
		if err != nil {
			t.Fatal(err)
		}
		return o
	}
	c, err := OpenCache(name)
	if err != nil {
		t.Fatal(err)
	}
	first := get(c, "a")
	if err := os.WriteFile(name, append(must(os.ReadFile(name)), `{"key":"b","val`...), 0o644); err != nil {
		t.Fatal(err)
	}
	if c, err = OpenCache(name); err != nil {
		t.Fatal(err)
	}
	if again := get(c, "a"); again.Seed != first.Seed || again.Figures[Chord] != first.Figures[Chord] || made != 1 {
		t.Errorf("made %d times: %+v", made, again)
	}
	if get(c, "b"); made != 2 {
		t.Error("half a line passed for a scan")
	}
	if c, err = OpenCache(name); err != nil {
		t.Fatal(err)
	}
	if get(c, "b"); made != 2 {
		t.Error("what came after half a line was lost")
	}
	if get(&Cache{}, "a"); made != 3 {
		t.Error("a cache without a file keeps something")
	}
}

func must(b []byte, err error) []byte {
	if err != nil {
		panic(err)
	}
	return b
}
