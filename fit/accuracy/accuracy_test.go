package accuracy

import (
	"flag"
	"os"
	"testing"
)

var (
	table = flag.Bool("table", false, "measure every scan and write fit/ACCURACY.md")
	every = flag.Int("every", 0, "measure every n-th scan of the table and hold it to the bounds")
	cache = flag.String("cache", "", "file that keeps what scans came to, to take up a run that was broken off")
)

// TestTable makes the table, or every n-th scan of it.
func TestTable(t *testing.T) {
	n := *every
	if *table {
		n = 1
	}
	if n == 0 {
		t.Skip("takes long; -table writes fit/ACCURACY.md, -every 6 holds every sixth scan to the bounds")
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
	if !*table {
		for _, row := range r.Rows {
			t.Logf("%s: %+v", row.Condition.Name, row.quantities)
		}
		return
	}
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
