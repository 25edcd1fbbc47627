package shop

import (
	"cmp"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"tipwright/scan"
	"tipwright/scan/inbox"
)

// Entry is one line of the shop's page. One with an empty Side is about the aircraft as a whole, one with
// an empty Aircraft as well about the shop.
type Entry struct {
	Aircraft string
	Name     string // of an aircraft: as its wing sheet has it; empty if no delivery tells it
	Side     string // Left, Right, Pair or empty
	Verdict  string // "good", "caution" or "refused"; empty if no delivery stands
	Messages []scan.Message
	Link     string   // of the delivery's folder from the page, "marsh-wren/left/"; empty if none stands
	Stale    bool     // the delivery is not of what lies in the inbox now
	Gone     bool     // the scans were taken away, or the aircraft's folder; what stands is kept
	Problem  string   // why the delivery could not be made; empty if it could
	Strange  []string // of an aircraft: files in its folder that are neither scan nor sheet
	Advice   string   // of an aircraft: what may be wrong with those files; empty if there are none
	Earlier  []string // of an aircraft: links of the deliveries that newer ones replaced, by name
}

// Entries tells the state of a shop: for each aircraft, by name, one entry of its own, then left, right and
// pair as far as there is something to tell. The problems are by aircraft and side; the messages are the
// inbox's. It depends on nothing but its arguments,
// and of the options only on those that Plan heeds; Earlier is left empty.
func Entries(in []Inputs, out []Record, o Options, problems map[[2]string]string, messages []scan.Message) []Entry {
	var entries []Entry
	if len(messages) > 0 {
		entries = append(entries, Entry{Messages: messages})
	}
	inputs, records := map[string]*Inputs{}, map[[2]string]*Record{}
	var names []string
	for i := range in {
		inputs[in[i].Aircraft] = &in[i]
		names = append(names, in[i].Aircraft)
	}
	for i := range out {
		records[[2]string{out[i].Aircraft, out[i].Side}] = &out[i]
		names = append(names, out[i].Aircraft)
	}
	slices.SortFunc(names, inbox.Compare)
	for _, name := range slices.Compact(names) {
		at := len(entries)
		entries = append(entries, ofAircraft(name, inputs[name]))
		for _, side := range []string{Left, Right, Pair} {
			key := [2]string{name, side}
			if r := records[key]; r != nil {
				entries[at].Name = cmp.Or(entries[at].Name, r.Name)
			}
			if e, ok := ofDelivery(name, side, inputs[name], records[key], o); ok || problems[key] != "" {
				e.Problem = problems[key]
				entries = append(entries, e)
			}
		}
	}
	return entries
}

// ofAircraft makes the entry of an aircraft as a whole; in is nil if its folder is gone from the inbox.
func ofAircraft(name string, in *Inputs) Entry {
	e := Entry{Aircraft: name}
	switch {
	case in == nil:
		e.Gone = true
		e.Messages = []scan.Message{scan.Notef("aircraft-gone", "The aircraft's folder is no longer in the inbox. Its deliveries are kept as they are.")}
	case in.Moving:
		e.Messages = []scan.Message{scan.Notef("still-moving", "Files are still being written to. They are read when they have come to rest.")}
	case len(in.Left.Files)+len(in.Right.Files) == 0:
		e.Messages = []scan.Message{scan.Notef("no-scan", "There is no scan yet: put files into the folder whose names begin with left or right.")}
	}
	if in != nil {
		e.Strange, e.Advice = in.Strange, advice(in.Strange)
	}
	return e
}

// ofDelivery makes the entry of one delivery; ok is false if there is nothing to tell.
func ofDelivery(name, side string, in *Inputs, record *Record, o Options) (e Entry, ok bool) {
	e = Entry{Aircraft: name, Side: side}
	if record != nil {
		e.Verdict, e.Messages, e.Link = record.Verdict, record.Messages, name+"/"+side+"/"
		if record.Err != nil {
			e.Stale = true
			e.Messages = []scan.Message{scan.Cautionf("record-unreadable", "What this delivery was made from cannot be read: do not use it.")}
		}
	}
	if in == nil {
		e.Gone = record != nil
		return e, record != nil
	}
	if in.Moving {
		return e, record != nil
	}
	scans := in.scans(side).Files
	if record == nil {
		return e, side != Pair && len(scans) > 0
	}
	if len(scans) == 0 || (side == Pair && (len(in.Left.Files) == 0 || len(in.Right.Files) == 0)) {
		e.Gone = true
		return e, true
	}
	job, _ := in.job(side, o.Version)
	e.Stale = e.Stale || o.outdated(job.from(), *record, true) != ""
	return e, true
}

// earlier fills in the links to the replaced deliveries, as they lie in the outbox.
func earlier(outbox string, entries []Entry) {
	for i, e := range entries {
		if e.Side != "" || e.Aircraft == "" {
			continue
		}
		kept, _ := os.ReadDir(filepath.Join(outbox, e.Aircraft, "earlier"))
		for _, k := range kept {
			if k.IsDir() && !strings.HasPrefix(k.Name(), ".") {
				entries[i].Earlier = append(entries[i].Earlier, e.Aircraft+"/earlier/"+k.Name()+"/")
			}
		}
		slices.SortFunc(entries[i].Earlier, inbox.Compare)
	}
}
