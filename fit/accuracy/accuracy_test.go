package accuracy

import (
	"flag"
	"os"
	"testing"
)

var (
	rounds = flag.Int("rounds", 0, "measure so many of the table's rounds, of Rounds in all, and hold them to their bounds")
	table  = flag.Bool("table", false, "write fit/ACCURACY.md of the rounds, or of all of them")
	cache  = flag.String("cache", "", "file that keeps what scans came to, to take up a run that was broken off")
)

// TestTable makes the table, or so many rounds of it, and holds it to the bounds either way.
func TestTable(t *testing.T) {
	n := min(*rounds, Rounds)
	if *table && n == 0 {
		n = Rounds
	}
	if n < 1 {
		t.Skip("takes many minutes; -table writes fit/ACCURACY.md, -rounds 1 holds the first round of its scans to the bounds")
	}
	kept := &Cache{}
	if *cache != "" {
		var err error
		if kept, err = OpenCache(*cache); err != nil {
			t.Fatal(err)
		}
	}
	r, err := Collect(kept, n, func(key string) { t.Log(key) })
	if err != nil {
		t.Fatal(err)
	}
	for _, broken := range r.Check() {
		t.Error(broken)
	}
	if *table {
		write(t, r)
	}
}

func write(t *testing.T, r *Report) {
	f, err := os.Create("../ACCURACY.md")
	if err != nil {
		t.Fatal(err)
	}
	if err := r.Write(f); err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
}

// TestFewScans is the table's short version: scans of a few conditions, with fewer points. One of them reads what is said
// of skins that lie apart.
func TestFewScans(t *testing.T) {
	if testing.Short() {
		t.Skip("measures a few scans")
	}
	m := &measured{cache: &Cache{}, progress: func(string) {}}
	var rows []*Row
	var outcomes []*Outcome
	for i, d := range Conditions() {
		switch d.Name {
		case "base", "noise 1 mm", "open end", "aileron far off", "repeats", "split, callipered":
			seed := Seed(i, 0)
			c := d.New(seed)
			c.Scan.Points, c.Scan.ClutterDensity = 60_000, 0.03
			row := Gather(d, nil)
			row.allow(c.allowance())
			rows = append(rows, row)
			outcomes = append(outcomes, plan(m, d.Name, func() (Outcome, error) {
				o, err := c.Run()
				o.Condition, o.Seed = d.Name, seed
				return o, err
			}))
		}
	}
	if err := m.make(); err != nil {
		t.Fatal(err)
	}
	for i, row := range rows {
		row.add(outcomes[i])
	}
	for _, broken := range (&Report{Rows: rows}).Check() {
		t.Error(broken)
	}
}
