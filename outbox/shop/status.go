package shop

import (
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"
)

// StatusName is the name of the file in the outbox that tells what a service is at. It is there for people
// and monitors; nothing of the program reads it. A service renews it at least once a minute.
const StatusName = "status.json"

// Status is what a service is at.
type Status struct {
	State    string    `json:"state"`              // "idle", "working", "waiting" for files that are still being written to, "trouble" or "stopped"
	Trouble  string    `json:"trouble,omitempty"`  // what keeps the shop from being brought up to date
	Settings string    `json:"settings,omitempty"` // what is wrong with the settings; those of before stand then
	Process  int       `json:"process"`
	Version  string    `json:"version"`
	Begun    time.Time `json:"begun"`
	Written  time.Time `json:"written"` // a status that is older than two minutes is of a service that was killed
	UptimeS  int64     `json:"uptime_s"`
	Queue    []string  `json:"queue"`   // deliveries to be made, "marsh-wren/left"
	InHand   []string  `json:"in_hand"` // deliveries that are being made
	Last     *Last     `json:"last,omitempty"`
	Made     int       `json:"made"` // deliveries since the service began
	Standing int       `json:"standing"`
	Refused  []string  `json:"refused"` // standing deliveries that say only what is wrong
	Failed   []string  `json:"failed"`  // deliveries that could not be made
	Waiting  int       `json:"waiting"` // aircraft that are still being written to, and scans that end too early
}

// Last is the delivery that was made last.
type Last struct {
	Delivery string    `json:"delivery"` // "marsh-wren/left"
	Verdict  string    `json:"verdict"`
	At       time.Time `json:"at"`
}

// statusAge is how old the status may grow while nothing happens.
const statusAge = time.Minute

// tell writes the status if it tells anything new or has grown old. Where it cannot be written the trouble is
// in the log already, since nothing else can be.
func (s *service) tell(ctx context.Context) {
	now := time.Now()
	st := s.status(ctx, now)
	if s.toldStatus.same(st) && now.Sub(s.toldAt) < statusAge {
		return
	}
	s.toldStatus, s.toldAt = st, now
	data, err := json.MarshalIndent(st, "", "  ")
	if err == nil {
		err = s.replaceFile(filepath.Join(s.outbox, StatusName), append(data, '\n'))
	}
	if err != nil {
		s.log.Debug("writing the status", "error", err)
	}
}

// same tells whether two statuses differ in nothing but the time.
func (st Status) same(other Status) bool {
	st.Written, st.UptimeS = other.Written, other.UptimeS
	a, errA := json.Marshal(st)
	b, errB := json.Marshal(other)
	return errA == nil && errB == nil && string(a) == string(b)
}

func (s *service) status(ctx context.Context, now time.Time) Status {
	st := Status{
		Process: os.Getpid(), Version: s.Version, Begun: s.begun.UTC(), Written: now.UTC(), UptimeS: int64(now.Sub(s.begun).Seconds()),
		Trouble: s.said, Settings: s.wrong, Last: s.last, Made: s.made, Standing: len(s.out), Waiting: s.summary.Waiting + s.waited(),
		Queue: []string{}, InHand: []string{}, Refused: []string{}, Failed: []string{},
	}
	for _, t := range s.waiting {
		st.Queue = append(st.Queue, named(t.key))
	}
	for k := range s.hand {
		st.InHand = append(st.InHand, named(k))
	}
	for _, r := range s.records() {
		if r.Verdict == refused {
			st.Refused = append(st.Refused, named(key{r.Aircraft, r.Side}))
		}
	}
	for k := range s.failed {
		st.Failed = append(st.Failed, named(k))
	}
	slices.Sort(st.InHand)
	slices.Sort(st.Failed)
	switch {
	case ctx.Err() != nil:
		st.State = "stopped"
	case st.Trouble != "":
		st.State = "trouble"
	case len(s.hand)+len(s.waiting) > 0:
		st.State = "working"
	case st.Waiting > 0:
		st.State = "waiting"
	default:
		st.State = "idle"
	}
	return st
}

func named(k key) string { return strings.Join(k[:], "/") }
