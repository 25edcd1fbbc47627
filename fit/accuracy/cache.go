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

// Plan says how many of the table's scans are made: every n-th of each condition, of the detection test and of the
// bound, beginning with the first.
type Plan struct{ Every int }

// Collect makes the report. Scans that the cache holds are not made again; progress is called with the key of each scan
// before it is made. All conditions get their first scan before any gets its second, so that a run that was broken off
// shows something of each.
func (p Plan) Collect(c *Cache, progress func(key string)) (*Report, error) {
	m := &measured{cache: c, progress: progress, outcomes: map[string][]Outcome{}, sought: map[float64][]Sought{}}
	all := Conditions()
	most := max(detectionScans, boundScans)
	for _, d := range all {
		most = max(most, d.Scans)
	}
	for k := 0; k < most; k += p.Every {
		if err := m.turn(all, k); err != nil {
			return nil, err
		}
	}
	r := &Report{Bound: Bounds(m.bound)}
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

// turn makes the k-th scan of everything that has so many.
func (m *measured) turn(all []Condition, k int) error {
	for i, d := range all {
		if k < d.Scans {
			seed := Seed(i, k)
			o, err := keep(m, fmt.Sprintf("%s/%d", d.Name, seed), func() (Outcome, error) { return d.Run(seed) })
			if err != nil {
				return err
			}
			m.outcomes[d.Name] = append(m.outcomes[d.Name], o)
		}
	}
	if k < detectionScans {
		for _, noise := range DetectionNoises() {
			s, err := keep(m, fmt.Sprintf("detection/%g/%d", noise, k), func() (Sought, error) { return Seek(noise, k) })
			if err != nil {
				return err
			}
			m.sought[noise] = append(m.sought[noise], s)
		}
	}
	if k < boundScans {
		s, err := keep(m, fmt.Sprintf("bound/%d", k), func() (BoundScan, error) { return MeasureBound(k) })
		if err != nil {
			return err
		}
		m.bound = append(m.bound, s)
	}
	return nil
}

// keep takes from the cache or makes.
func keep[T any](m *measured, key string, make func() (T, error)) (T, error) {
	m.progress(key)
	return cached(m.cache, key, make)
}
