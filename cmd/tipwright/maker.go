package main

import (
	"context"
	"errors"
	"io"
	"path/filepath"
	"slices"
	"strings"

	"tipwright/fit"
	"tipwright/outbox"
	"tipwright/outbox/shop"
	"tipwright/scan"
	"tipwright/scan/sheet"
	"tipwright/section"
	"tipwright/section/airfoil"
)

// maker makes deliveries: it leads one job along the way scan -> section -> fit -> outbox.
type maker struct {
	made map[string]outbox.Delivery // what this run has measured, for the pairs; a few megabytes a side
}

// keptSides bounds what a long-lived service keeps; a pair whose sides were let go is measured again.
const keptSides = 16

func newMaker() maker { return maker{made: map[string]outbox.Delivery{}} }

// Side measures one side and writes its delivery, or the refusal that says what is wrong.
func (m maker) Side(ctx context.Context, job shop.Job) error {
	made, err := m.measure(ctx, job)
	if err == nil {
		if len(m.made) >= keptSides {
			clear(m.made)
		}
		m.made[keyOf(job)] = made
		return outbox.Deliver(job.Dir, made)
	}
	if why, ok := refusal(err); ok {
		return outbox.Refuse(job.Dir, made, why)
	}
	return err
}

// measure leads the scans of a side through the steps. On an error the delivery holds what was known until
// then, for the page that says what is wrong.
func (maker) measure(ctx context.Context, job shop.Job) (outbox.Delivery, error) {
	d := outbox.Delivery{Identity: identity(job), Sheet: sheet.Default()}
	sh, err := readSheet(job)
	if err != nil {
		return d, err
	}
	d.Sheet = sh
	var nominal *airfoil.Airfoil
	if sh.Airfoil != "" {
		if nominal, _, err = airfoil.Load(sh.Airfoil, filepath.Dir(job.Sheet.Path)); err != nil {
			return d, err
		}
	}
	var surveys []*section.Survey
	for _, file := range job.Scans {
		if err := ctx.Err(); err != nil {
			return d, err
		}
		s, err := scan.Read(file.Path, scan.DefaultLimits)
		if err != nil {
			return d, err
		}
		v, err := section.Measure(s, sectionOptions(sh, nominal, job.Side))
		// The points are not kept: a scan is large, and the next step needs none of them.
		info := outbox.Describe(s)
		info.Survey = v
		d.Scans = append(d.Scans, info)
		if err != nil {
			return d, err
		}
		surveys = append(surveys, v)
	}
	if nominal != nil {
		d.Messages = nominal.Messages()
	}
	d.Result, err = fit.Fit(section.Merge(surveys), fitOptions(sh))
	return d, err
}

// identity is what a job's delivery records of itself.
func identity(job shop.Job) outbox.Identity {
	id := outbox.Identity{Aircraft: job.Aircraft, Side: job.Side, Version: job.Version,
		Sheet: job.Sheet.Source, Airfoil: job.Airfoil.Source}
	for _, f := range job.Scans {
		id.Files = append(id.Files, f.Source)
	}
	return id
}

// readSheet reads the job's wing sheet; with none, everything stands at its default.
func readSheet(job shop.Job) (*sheet.Sheet, error) {
	if job.Sheet.Path == "" {
		return sheet.Default(), nil
	}
	return sheet.Read(job.Sheet.Path)
}

// refusal tells whether an error is the builder's to mend, and returns what to say on the page.
func refusal(err error) (messages []scan.Message, ok bool) {
	var refused *scan.RefusalError
	var format *scan.FormatError
	var sheetErrors sheet.Errors
	switch {
	case errors.As(err, &refused):
		return []scan.Message{refused.Message()}, true
	case errors.As(err, &sheetErrors):
		for _, e := range sheetErrors {
			messages = append(messages, scan.Message{Code: "sheet", Level: scan.Refusal, Text: e.Error()})
		}
		return messages, true
	case errors.As(err, &format):
		return []scan.Message{{Code: "file", Level: scan.Refusal, Text: format.Error()}}, true
	}
	return nil, false
}

func sideOf(name string) section.Side {
	if name == shop.Right {
		return section.Right
	}
	return section.Left
}

func sectionOptions(sh *sheet.Sheet, nominal *airfoil.Airfoil, side string) section.Options {
	return section.Options{
		Airfoil: nominal, Chord: sh.Chord.MM(), Hinge: sh.Hinge, Side: sideOf(side),
		Unit: sh.Units, TrustScale: sh.TrustScale, TipRib: sh.TipRib.MM(),
	}
}

func fitOptions(sh *sheet.Sheet) fit.Options {
	return fit.Options{
		TargetNominal: sh.TargetNominal, Band: sh.Band.MM(), ActAbove: sh.ActAbove.MM(), SandLimit: sh.SandLimit.MM(),
		Density: sh.Density, Droop: sh.Droop, Laminate: sh.Laminate.MM(), Kerf: sh.Kerf.MM(),
		Wire: sh.WireDiameter.MM(), TipLength: sh.TipLength.MM(),
	}
}

// Pair compares both sides. A side that this run has not measured itself is measured again, since the
// comparison needs more than its delivery holds.
func (m maker) Pair(ctx context.Context, job shop.Job) error {
	left, err := m.side(ctx, job, shop.Left, job.LeftScans())
	if err != nil {
		return m.refusePair(job, left, err)
	}
	right, err := m.side(ctx, job, shop.Right, job.RightScans())
	if err != nil {
		return m.refusePair(job, right, err)
	}
	return outbox.Pair(job.Dir, outbox.PairDelivery{
		Identity: identity(job), Sheet: left.Sheet, Scans: slices.Concat(left.Scans, right.Scans),
		Result: fit.Compare(left.Result, right.Result, left.Sheet.PairTolerance.MM()),
	})
}

// side returns what was measured of one side of a pair.
func (m maker) side(ctx context.Context, pair shop.Job, side string, scans []shop.File) (outbox.Delivery, error) {
	pair.Side, pair.Scans = side, scans
	if d, ok := m.made[keyOf(pair)]; ok {
		return d, nil
	}
	return m.measure(ctx, pair)
}

func (maker) refusePair(job shop.Job, d outbox.Delivery, err error) error {
	why, ok := refusal(err)
	if !ok {
		return err
	}
	return outbox.RefusePair(job.Dir, outbox.PairDelivery{Identity: identity(job), Sheet: d.Sheet, Scans: d.Scans}, why)
}

// keyOf names what a side is measured from.
func keyOf(job shop.Job) string {
	key := strings.Join([]string{job.Aircraft, job.Side, job.Sheet.Source.SHA256, job.Airfoil.Source.SHA256}, "/")
	for _, f := range job.Scans {
		key += "/" + f.Source.SHA256
	}
	return key
}

// Index writes the shop's page.
func (maker) Index(_ context.Context, w io.Writer, entries []shop.Entry) error {
	list := make([]outbox.Entry, len(entries))
	for i, e := range entries {
		list[i] = outbox.Entry(e)
	}
	return outbox.Index(w, list)
}
