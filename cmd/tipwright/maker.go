package main

import (
	"context"
	"errors"
	"io"
	"path/filepath"

	"tipwright/fit"
	"tipwright/outbox"
	"tipwright/outbox/shop"
	"tipwright/scan"
	"tipwright/scan/sheet"
	"tipwright/section"
	"tipwright/section/airfoil"
)

// maker makes deliveries: it leads one job along the way scan -> section -> fit -> outbox.
type maker struct{}

// Side measures one side and writes its delivery, or the refusal that says what is wrong.
func (m maker) Side(ctx context.Context, job shop.Job) error {
	made, err := m.measure(ctx, job)
	if err == nil {
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

// Pair compares the two sides that stand.
func (m maker) Pair(ctx context.Context, job shop.Job) error { return nil }

// Index writes the shop's page.
func (maker) Index(_ context.Context, w io.Writer, entries []shop.Entry) error { return nil }
