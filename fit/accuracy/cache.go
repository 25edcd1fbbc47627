package accuracy

import (
	"bufio"
	"encoding/json"
	"fmt"
	"os"
)

// Cache keeps what scans came to in a file of lines, so that a long run can be broken off and taken up again. The
// zero value keeps nothing. It belongs to one state of the code: delete it when the code has changed.
type Cache struct {
	file *os.File
	kept map[string]json.RawMessage
}

// OpenCache reads the file of that name, if there is one, and appends to it from then on.
func OpenCache(name string) (*Cache, error) {
	f, err := os.OpenFile(name, os.O_RDWR|os.O_CREATE|os.O_APPEND, 0o644)
	if err != nil {
		return nil, err
	}
	c := &Cache{file: f, kept: map[string]json.RawMessage{}}
	lines := bufio.NewScanner(f)
	lines.Buffer(nil, 1<<20)
	for lines.Scan() {
		var line struct {
			Key   string          `json:"key"`
			Value json.RawMessage `json:"value"`
		}
		if json.Unmarshal(lines.Bytes(), &line) == nil { // a line that was broken off is made again
			c.kept[line.Key] = line.Value
		}
	}
	if err := lines.Err(); err != nil {
		return nil, err
	}
	_, err = f.WriteString("\n") // ends a line that was broken off
	return c, err
}

// cached returns what the cache holds under a key, or makes and keeps it.
func cached[T any](c *Cache, key string, make func() (T, error)) (T, error) {
	var v T
	if raw, ok := c.kept[key]; ok {
		return v, json.Unmarshal(raw, &v)
	}
	v, err := make()
	if err != nil {
		return v, fmt.Errorf("%s: %w", key, err)
	}
	if c.file == nil {
		return v, nil
	}
	line, err := json.Marshal(map[string]any{"key": key, "value": v})
	if err != nil {
		return v, fmt.Errorf("%s: %w", key, err)
	}
	_, err = c.file.Write(append(line, '\n'))
	return v, err
}

// Rounds is how many rounds the whole table takes. Each makes its share of the scans of every condition, of the detection
// test and of the bound, so that a run of fewer rounds, or one that was broken off, shows something of each.
const Rounds = 9

// roundShare returns which of n scans a round makes: all are made once, spread evenly over the rounds, at least one in
// the first.
func roundShare(round, n int) (from, to int) {
	return (round*n + Rounds - 1) / Rounds, ((round+1)*n + Rounds - 1) / Rounds
}

// Collect makes the report of the given number of rounds. Scans that the cache holds are not made again; progress is
// called with the key of each scan before it is made.
func Collect(c *Cache, rounds int, progress func(key string)) (*Report, error) {
	m := &measured{cache: c, progress: progress, outcomes: map[string][]Outcome{}, sought: map[float64][]Sought{}}
	all := Conditions()
	for round := range rounds {
		if err := m.round(all, round); err != nil {
			return nil, err
		}
	}
	r := &Report{Rounds: rounds, Bound: Bounds(m.bound)}
	for _, d := range all {
		r.Rows = append(r.Rows, Gather(d, m.outcomes[d.Name]))
	}
	for _, noise := range DetectionNoises() {
		r.Detection = append(r.Detection, Detect(noise, m.sought[noise]))
	}
	return r, nil
}

// measured gathers what scans came to.
type measured struct {
	cache    *Cache
	progress func(key string)
	outcomes map[string][]Outcome
	sought   map[float64][]Sought
	bound    []BoundScan
}

// round makes one round's share of everything.
func (m *measured) round(all []Condition, round int) error {
	for i, d := range all {
		from, to := roundShare(round, d.Scans)
		for k := from; k < to; k++ {
			seed := Seed(i, k)
			o, err := keep(m, fmt.Sprintf("%s/%d", d.Name, seed), func() (Outcome, error) { return d.Run(seed) })
			if err != nil {
				return err
			}
			m.outcomes[d.Name] = append(m.outcomes[d.Name], o)
		}
	}
	if err := m.seek(round); err != nil {
		return err
	}
	from, to := roundShare(round, boundScans)
	for k := from; k < to; k++ {
		s, err := keep(m, fmt.Sprintf("bound/%d", k), func() (BoundScan, error) { return MeasureBound(k) })
		if err != nil {
			return err
		}
		m.bound = append(m.bound, s)
	}
	return nil
}

// seek makes one round's share of the detection test.
func (m *measured) seek(round int) error {
	from, to := roundShare(round, detectionScans)
	for k := from; k < to; k++ {
		for _, noise := range DetectionNoises() {
			s, err := keep(m, fmt.Sprintf("detection/%g/%d", noise, k), func() (Sought, error) { return Seek(noise, k) })
			if err != nil {
				return err
			}
			m.sought[noise] = append(m.sought[noise], s)
		}
	}
	return nil
}

// keep takes from the cache or makes.
func keep[T any](m *measured, key string, make func() (T, error)) (T, error) {
	m.progress(key)
	return cached(m.cache, key, make)
}
