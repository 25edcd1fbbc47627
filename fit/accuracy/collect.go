package accuracy

import (
	"fmt"
	"iter"
	"sync/atomic"

	"tipwright/scan"
)

// Rounds is how many rounds the whole table takes. Each makes its share of the scans of every condition, of the detection
// test and of the bound, so that a run of fewer rounds, or one that was broken off, shows something of each.
const Rounds = 9

// roundScans yields the numbers of those of n scans that a round makes: all are made once, spread evenly over the rounds,
// at least one in the first.
func roundScans(round, n int) iter.Seq[int] {
	return func(yield func(int) bool) {
		for k := (round*n + Rounds - 1) / Rounds; k < ((round+1)*n+Rounds-1)/Rounds && yield(k); k++ {
		}
	}
}

// Collect makes the report of the given number of rounds. Scans that the cache holds are not made again. Each processor
// makes a scan of its own, since a measurement does not keep several busy all the time. progress is called with the key of
// each scan before it is made, from several goroutines at once.
func Collect(c *Cache, rounds int, progress func(key string)) (*Report, error) {
	m := &measured{cache: c, progress: progress, outcomes: map[string][]*Outcome{}, sought: map[float64][]*Sought{}}
	all := Conditions()
	for round := range rounds {
		m.round(all, round)
	}
	if err := m.make(); err != nil {
		return nil, err
	}
	r := &Report{Rounds: rounds, Bound: Bounds(values(m.bound))}
	for _, d := range all {
		r.Rows = append(r.Rows, Gather(d, values(m.outcomes[d.Name])))
	}
	for _, noise := range DetectionNoises() {
		r.Detection = append(r.Detection, Detect(noise, values(m.sought[noise])))
	}
	return r, nil
}

// measured holds what scans come to, and first how each is made.
type measured struct {
	cache    *Cache
	progress func(key string)
	jobs     []func() error
	outcomes map[string][]*Outcome
	sought   map[float64][]*Sought
	bound    []*BoundScan
}

// plan puts one scan on the list and returns where its outcome will be.
func plan[T any](m *measured, key string, make func() (T, error)) *T {
	into := new(T)
	m.jobs = append(m.jobs, func() (err error) {
		m.progress(key)
		*into, err = cached(m.cache, key, make)
		return err
	})
	return into
}

// round plans one round's share of everything.
func (m *measured) round(all []Condition, round int) {
	for i, d := range all {
		for k := range roundScans(round, d.Scans) {
			seed := Seed(i, k)
			m.outcomes[d.Name] = append(m.outcomes[d.Name],
				plan(m, fmt.Sprintf("%s/%d", d.Name, seed), func() (Outcome, error) { return d.Run(seed) }))
		}
	}
	for k := range roundScans(round, detectionScans) {
		for _, noise := range DetectionNoises() {
			m.sought[noise] = append(m.sought[noise],
				plan(m, fmt.Sprintf("detection/%g/%d", noise, k), func() (Sought, error) { return Seek(noise, k) }))
		}
	}
	for k := range roundScans(round, boundScans) {
		m.bound = append(m.bound, plan(m, fmt.Sprintf("bound/%d", k), func() (BoundScan, error) { return MeasureBound(k) }))
	}
}

// make makes what is planned, as many scans at once as there are processors, and stops where one cannot be made.
func (m *measured) make() error {
	var failed atomic.Pointer[error]
	scan.OnAllProcessors(len(m.jobs), func(i int) {
		if failed.Load() != nil {
			return
		}
		if err := m.jobs[i](); err != nil {
			failed.CompareAndSwap(nil, &err)
		}
	})
	if err := failed.Load(); err != nil {
		return *err
	}
	return nil
}

// values returns what the pointers point to.
func values[T any](from []*T) []T {
	out := make([]T, len(from))
	for i, p := range from {
		out[i] = *p
	}
	return out
}
