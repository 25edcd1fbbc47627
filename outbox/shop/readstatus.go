package shop

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"time"
)

// mostStatus bounds a status file, bytes: it names every delivery of a shop at most four times.
const mostStatus = 64 << 20

// statusDead is the age from which on a status is that of a service that was killed.
const statusDead = 2 * statusAge

// ReadStatus reads what the service of the shop at root last told of itself. The error is [os.ErrNotExist]
// if no service has served it since it was last brought up to date without one.
func ReadStatus(root string) (st Status, err error) {
	path := filepath.Join(Dir(root), StatusName)
	info, err := os.Lstat(path)
	switch {
	case err != nil:
		return st, err
	case !info.Mode().IsRegular() || info.Size() > mostStatus:
		return st, fmt.Errorf("%s: this is no status file", path)
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return st, err
	}
	if err := json.Unmarshal(data, &st); err != nil {
		return st, fmt.Errorf("%s: this is no status file: %w", path, err)
	}
	return st, nil
}

// Serving tells whether the service that wrote a status was at work at a time.
func (st Status) Serving(at time.Time) bool {
	return st.State != "stopped" && at.Sub(st.Written) < statusDead
}
