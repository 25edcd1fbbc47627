package accuracy

import (
	"bufio"
	"encoding/json"
	"fmt"
	"os"
	"sync"
)

// Cache keeps what scans came to in a file of lines, so that a long run can be broken off and taken up again. The
// zero value keeps nothing. It belongs to one state of the code: delete it when the code has changed.
type Cache struct {
	file    *os.File
	kept    map[string]json.RawMessage
	writing sync.Mutex
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

// cached returns what the cache held under a key when it was opened, or makes and keeps it. Several may call it at once.
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
	c.writing.Lock()
	defer c.writing.Unlock()
	_, err = c.file.Write(append(line, '\n'))
	return v, err
}
