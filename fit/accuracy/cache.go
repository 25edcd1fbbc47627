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
	return c, lines.Err()
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

// Collect makes the report from every n-th scan of each condition, beginning with the first, the scans that the cache
// holds left out of the work. progress is called with the key of each scan before it is made.
func Collect(c *Cache, every int, progress func(key string)) (*Report, error) {
	r := &Report{}
	for i, d := range Conditions() {
		var outcomes []Outcome
		for k := 0; k < d.Scans; k += every {
			key := fmt.Sprintf("%s/%d", d.Name, Seed(i, k))
			progress(key)
			o, err := cached(c, key, func() (Outcome, error) { return d.Run(Seed(i, k)) })
			if err != nil {
				return nil, err
			}
			outcomes = append(outcomes, o)
		}
		r.Rows = append(r.Rows, Gather(d, outcomes))
	}
	for _, noise := range DetectionNoises() {
		var scans []Sought
		for k := 0; k < detectionScans; k += every {
			key := fmt.Sprintf("detection/%g/%d", noise, k)
			progress(key)
			s, err := cached(c, key, func() (Sought, error) { return Seek(noise, k) })
			if err != nil {
				return nil, err
			}
			scans = append(scans, s)
		}
		r.Detection = append(r.Detection, Detect(noise, scans))
	}
	var scans []BoundScan
	for k := 0; k < boundScans; k += every {
		key := fmt.Sprintf("bound/%d", k)
		progress(key)
		s, err := cached(c, key, func() (BoundScan, error) { return MeasureBound(k) })
		if err != nil {
			return nil, err
		}
		scans = append(scans, s)
	}
	r.Bound = Bounds(scans)
	return r, nil
}
