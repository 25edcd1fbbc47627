package shop

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"tipwright/scan"
)

// shape builds inputs and records from short text: "left=1 right=2 sheet=3 airfoil=4" gives each file those
// contents; "left=1,5" are two scans; "left!=1" cannot be read; "moving" is still being written to.
func inputs(name, text string) Inputs {
	in := Inputs{Aircraft: name}
	for _, word := range strings.Fields(text) {
		key, value, _ := strings.Cut(word, "=")
		var files []File
		for i, sum := range strings.Split(value, ",") {
			files = append(files, File{Source: scan.Source{File: fmt.Sprintf("%s-%d.ply", strings.TrimSuffix(key, "!"), i+1), SHA256: sum}})
		}
		switch key {
		case "left":
			in.Left.Files = files
		case "right":
			in.Right.Files = files
		case "left!":
			in.Left = Scans{files, errors.New("no permission")}
		case "sheet":
			in.Sheet = files[0]
		case "airfoil":
			in.Airfoil = files[0]
		case "moving":
			in.Moving = true
		}
	}
	return in
}

// record builds the record of a delivery made from such inputs by version v1.
func record(name, side, text string) Record {
	in := inputs(name, text)
	r := Record{Aircraft: name, Side: side, Verdict: "good"}
	job, _ := in.job(side, "v1")
	for _, word := range strings.Fields(text) {
		switch word {
		case "refused":
			r.Verdict = refused
		case "v2":
			job.Version = "v2"
		case "unreadable":
			r.Err = errors.New("unreadable")
		}
	}
	r.from = job.from()
	return r
}

func TestPlan(t *testing.T) {
	const both = "left=1 right=2 sheet=3"
	all := []Record{record("a", Left, both), record("a", Right, both), record("a", Pair, both)}
	for _, c := range []struct {
		name string
		in   []Inputs
		out  []Record
		want string // "aircraft side: why" a job
	}{
		{"nothing", nil, nil, ""},
		{"up to date", []Inputs{inputs("a", both)}, all, ""},
		{"new", []Inputs{inputs("a", both)}, nil, "a left: new; a right: new"},
		{"one side only", []Inputs{inputs("a", "left=1")}, nil, "a left: new"},
		{"pair due", []Inputs{inputs("a", both)}, all[:2], "a pair: new"},
		{"left refused", []Inputs{inputs("a", both)}, []Record{record("a", Left, both+" refused"), all[1]}, ""},
		{"left turned refused", []Inputs{inputs("a", both)}, []Record{record("a", Left, both+" refused"), all[1], all[2]},
			"a pair retire: it was made from other deliveries than those beside it"},
		{"left changed", []Inputs{inputs("a", "left=9 right=2 sheet=3")}, all, "a left: the scans have changed"},
		{"left remade", []Inputs{inputs("a", "left=9 right=2 sheet=3")}, []Record{record("a", Left, "left=9 sheet=3"), all[1], all[2]}, "a pair: the scans have changed"},
		{"repeat added", []Inputs{inputs("a", "left=1,7 right=2 sheet=3")}, all, "a left: the scans have changed"},
		{"same scans, other order", []Inputs{inputs("a", "left=7,1 right=2 sheet=3")}, []Record{record("a", Left, "left=1,7 sheet=3"), all[1], record("a", Pair, "left=1,7 right=2 sheet=3")}, ""},
		{"sides swapped", []Inputs{inputs("a", "left=2 right=1 sheet=3")}, all, "a left: the scans have changed; a right: the scans have changed"},
		{"sides swapped, pair left", []Inputs{inputs("a", "left=2 right=1 sheet=3")}, []Record{record("a", Left, "left=2 sheet=3"), record("a", Right, "right=1 sheet=3"), all[2]}, "a pair: the scans have changed"},
		{"sheet changed", []Inputs{inputs("a", "left=1 right=2 sheet=4")}, all, "a left: the wing sheet has changed; a right: the wing sheet has changed"},
		{"sheet taken away", []Inputs{inputs("a", "left=1 right=2")}, all, "a left: the wing sheet has changed; a right: the wing sheet has changed"},
		{"airfoil came", []Inputs{inputs("a", both+" airfoil=5")}, all, "a left: the airfoil's coordinates have changed; a right: the airfoil's coordinates have changed"},
		{"other version", []Inputs{inputs("a", both)}, []Record{record("a", Left, both+" v2"), all[1], all[2]},
			"a left: made by version v2 of the program; a pair retire: it was made from other deliveries than those beside it"},
		{"record unreadable", []Inputs{inputs("a", both)}, []Record{record("a", Left, both+" unreadable"), all[1]}, "a left: its record cannot be read"},
		{"refused and unchanged", []Inputs{inputs("a", "left=1")}, []Record{record("a", Left, "left=1 refused")}, ""},
		{"scans taken away", []Inputs{inputs("a", "right=2 sheet=3")}, all, ""},
		{"aircraft taken away", nil, all, ""},
		{"moving", []Inputs{inputs("a", "moving")}, all, ""},
		{"not readable", []Inputs{inputs("a", "left!=1 right=2 sheet=3")}, nil, "a right: new"},
		{"right taken away, left changed", []Inputs{inputs("a", "left=9 sheet=3")}, []Record{record("a", Left, "left=9 sheet=3"), all[1], all[2]},
			"a pair retire: it was made from other deliveries than those beside it"},
		{"pair alone", []Inputs{inputs("a", "")}, all[2:], "a pair retire: it was made from other deliveries than those beside it"},
		{"two aircraft, sides first", []Inputs{inputs("a", both), inputs("b", "right=2")}, all[:2], "b right: new; a pair: new"},
	} {
		var got []string
		for _, j := range Plan(c.in, c.out, Options{Version: "v1"}) {
			side := j.Side
			if j.Retire {
				side += " retire"
			}
			got = append(got, fmt.Sprintf("%s %s: %s", j.Aircraft, side, j.Why))
		}
		if strings.Join(got, "; ") != c.want {
			t.Errorf("%s: planned\n%q, want\n%q", c.name, strings.Join(got, "; "), c.want)
		}
	}
}

// carryOut does what jobs ask for, on records alone; contents below 3 are refused as a scan.
func carryOut(jobs []Job, out []Record) []Record {
	for _, j := range jobs {
		out = slices.DeleteFunc(out, func(r Record) bool { return r.Aircraft == j.Aircraft && r.Side == j.Side })
		if j.Retire {
			continue
		}
		r := Record{Aircraft: j.Aircraft, Side: j.Side, Verdict: "good", from: j.from()}
		if j.Side != Pair && j.Scans[0].Source.SHA256 < "3" {
			r.Verdict = refused
		}
		out = append(out, r)
	}
	return out
}

// Whatever happened to a shop, two plans carried out bring it up to date: a third has nothing to do, every
// side is of what lies in the inbox, and a pair stands only beside the sides that it was made from.
func TestPlanSettles(t *testing.T) {
	content := rapid.SampledFrom([]string{"1", "2", "3", "4", "5", "3,4"})
	state := rapid.Custom(func(t *rapid.T) Inputs {
		text := ""
		for _, key := range []string{"left", "right", "sheet", "airfoil"} {
			if rapid.IntRange(0, 3).Draw(t, key+" there") > 0 {
				text += " " + key + "=" + content.Draw(t, key)
			}
		}
		return inputs("a", text)
	})
	rapid.Check(t, func(t *rapid.T) {
		var out []Record
		for range rapid.IntRange(1, 5).Draw(t, "changes") {
			in := []Inputs{state.Draw(t, "inbox")}
			version := rapid.SampledFrom([]string{"v1", "v2"}).Draw(t, "version")
			out = carryOut(slices.DeleteFunc(Plan(in, out, Options{Version: version}), func(j Job) bool { return j.Side == Pair }), out)
			out = carryOut(Plan(in, out, Options{Version: version}), out)
			if again := Plan(in, out, Options{Version: version}); len(again) > 0 {
				t.Fatalf("still to do: %+v", again)
			}
			sides := map[string]Record{}
			for _, r := range out {
				sides[r.Side] = r
			}
			for _, side := range []string{Left, Right} {
				if job, usable := in[0].job(side, version); usable && sides[side].from != job.from() {
					t.Fatalf("%s is of %v, want %v", side, sides[side].from, job.from())
				}
			}
			if pair, there := sides[Pair]; there && !fits(pair, sides) {
				t.Fatalf("the pair is of %v beside %v and %v", pair.from, sides[Left].from, sides[Right].from)
			}
		}
	})
}

func TestEntries(t *testing.T) {
	const both = "left=1 right=2 sheet=3"
	out := []Record{record("a", Left, both), record("a", Right, both), record("a", Pair, both), record("gone", Left, "left=1 refused"), record("m", Left, "left=1")}
	in := []Inputs{inputs("a", "left=9 sheet=3"), inputs("b", ""), inputs("c", "left=1"), inputs("m", "moving")}
	in[1].Strange = []string{"notes.txt"}
	problems := map[[2]string]string{{"c", Left}: "disk full"}
	var got []string
	for _, e := range Entries(in, out, Options{Version: "v1"}, problems, []scan.Message{scan.Cautionf("stray-file", "x")}) {
		line := strings.TrimSpace(strings.Join([]string{e.Aircraft, e.Side, e.Verdict, e.Link, e.Problem, strings.Join(e.Strange, ",")}, " "))
		for _, m := range e.Messages {
			line += " [" + m.Code + "]"
		}
		if e.Stale {
			line += " stale"
		}
		if e.Gone {
			line += " gone"
		}
		got = append(got, strings.Join(strings.Fields(line), " "))
	}
	want := []string{
		"[stray-file]",
		"a", "a left good a/left/ stale", "a right good a/right/ gone", "a pair good a/pair/ gone",
		"b notes.txt [no-scan]",
		"c", "c left disk full",
		"gone [aircraft-gone] gone", "gone left refused gone/left/ gone",
		"m [still-moving]", "m left good m/left/",
	}
	if !slices.Equal(got, want) {
		t.Errorf("entries\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}
