package evidence

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"lampassay/assay/uncertainty"
	"lampassay/bench/live"
	"lampassay/bench/notebook"
	"lampassay/light/spectrum"
)

// MostSpectra bounds how many spectra are averaged: a draw goes through all of them.
const MostSpectra = 100

// SinceMark asks for all spectra since the latest mark.
const SinceMark = -1

// Ask says what of a sitting an assay is to be made from. The zero value is the latest
// of everything, as it was recorded.
type Ask struct {
	// Spectra is how many of the latest spectra are averaged: 0 or 1 for the latest
	// alone, [uncertainty.FewestRepeats] to [MostSpectra], or [SinceMark].
	Spectra int
	// Upto is the last reading whose spectrum may be taken, 0 for any: where the lamp
	// was recorded after it was switched off.
	Upto int64
	// Instrument is whose own file corrects raw counts; 0 leaves them as they are.
	Instrument notebook.ID
	// DarkFrom and DarkTo are the first and the last reading that is a dark of the
	// counts, 0 for none; DarkFile is a file of it, nil for none.
	DarkFrom, DarkTo int64
	DarkFile         *notebook.Attachment
	// SittingFile says how sure each input is, as [uncertainty.ParseConditions] reads
	// it; nil for none.
	SittingFile *notebook.Attachment
	Terms       Terms
}

// Gather chooses from a sitting what an assay needs and nobody has set aside.
func Gather(ctx context.Context, nb notebook.Notebook, sit *notebook.Sitting, ask Ask) (*Evidence, error) {
	c := &chooser{nb, sit, ask}
	inputs, err := c.spectra(ctx)
	if err != nil {
		return nil, err
	}
	var files []notebook.Attachment
	add := func(what string, a *notebook.Attachment) {
		if a != nil {
			inputs, files = append(inputs, notebook.Input{What: what, SHA256: a.SHA256}), append(files, *a)
		}
	}
	if ask.Instrument != 0 {
		in, err := nb.Instruments().Get(ctx, ask.Instrument)
		if err != nil {
			return nil, err
		}
		if in.File == nil {
			return nil, notebook.Errorf(notebook.Invalid, "the instrument %s has no file of its own yet: calibrate its wavelengths first", in.Name)
		}
		add(InstrumentFile, in.File)
		dark, err := c.dark(ctx)
		if err != nil {
			return nil, err
		}
		inputs = append(inputs, dark...)
		add(DarkFile, ask.DarkFile)
	} else if ask.DarkFrom != 0 || ask.DarkFile != nil {
		return nil, notebook.Errorf(notebook.Invalid, "a dark is for raw counts that an instrument's file corrects: choose the instrument, or leave the dark out")
	}
	values, passed, err := c.values(ctx)
	if err != nil {
		return nil, err
	}
	inputs, ask.Terms.Passed = append(inputs, values...), strings.Join(passed, "\n")
	add(SittingFile, ask.SittingFile)
	e, err := Take(ctx, nb, sit, inputs, ask.Terms)
	if err != nil {
		return nil, err
	}
	e.Files = files
	all, err := late(ctx, nb, sit, inputs, e.day)
	e.Terms.Late = strings.Join(all, "\n")
	return e, err
}

// chooser looks for what is asked for in one sitting.
type chooser struct {
	nb  notebook.Notebook
	sit *notebook.Sitting
	ask Ask
}

// counts reports whether a reading counts as a recording of the lamp.
func (c *chooser) counts(r *notebook.Reading) bool {
	return isSpectrum(r) && c.sit.StruckOut(r.N) == "" && !c.beyond(r.N) && (r.N < c.ask.DarkFrom || r.N > c.ask.DarkTo)
}

// beyond reports whether a reading came after those that are asked for.
func (c *chooser) beyond(n int64) bool { return c.ask.Upto > 0 && n > c.ask.Upto }

func isSpectrum(r *notebook.Reading) bool { return r.Curve != nil && r.Curve.Axis != nil }

// alike reports whether two readings are from one source.
func alike(a, b *notebook.Reading) bool {
	return a.Channel == b.Channel && a.Instrument == b.Instrument
}

// latest finds the latest spectrum of a sitting that nobody has set aside, nil where
// there is none.
func (c *chooser) latest(ctx context.Context) (found *notebook.Reading, err error) {
	err = c.backwards(ctx, "", 0, func(r *notebook.Reading) bool {
		if c.counts(r) {
			found = r
		}
		return found == nil
	})
	return found, err
}

// backwards visits readings from the end down to those after one, until visit has
// enough. It fetches a longer stretch each time.
func (c *chooser) backwards(ctx context.Context, channel string, after int64, visit func(*notebook.Reading) bool) error {
	tally, err := c.nb.Tally(ctx, c.sit.ID)
	if err != nil {
		return err
	}
	for to, stretch := tally.Readings, int64(16); to > after; stretch = min(2*stretch, 4096) {
		from := max(to-stretch, after)
		var part []*notebook.Reading
		for r, err := range c.nb.Readings(ctx, notebook.Readings{Sitting: c.sit.ID, Channel: channel, After: from}) {
			if err != nil {
				return err
			}
			if r.N > to {
				break
			}
			part = append(part, r)
		}
		for _, r := range slices.Backward(part) {
			if !visit(r) {
				return nil
			}
		}
		to = from
	}
	return nil
}

// spectra names the spectra that are asked for, a run of neighbours each.
func (c *chooser) spectra(ctx context.Context) ([]notebook.Input, error) {
	latest, err := c.latest(ctx)
	switch {
	case err != nil:
		return nil, err
	case latest == nil:
		return nil, notebook.Errorf(notebook.Invalid, "this sitting has no spectrum yet, and everything is computed from one: import a file into it, or record one")
	case c.ask.Spectra == 0 || c.ask.Spectra == 1:
		return []notebook.Input{{What: Spectrum, From: latest.N, To: latest.N, SHA256: latest.Chain}}, nil
	case c.ask.Spectra != SinceMark && (c.ask.Spectra < uncertainty.FewestRepeats || c.ask.Spectra > MostSpectra):
		return nil, notebook.Errorf(notebook.Invalid, "a mean is taken of %d to %d spectra, not of %d", uncertainty.FewestRepeats, MostSpectra, c.ask.Spectra)
	}
	after, since, err := c.since(ctx)
	if err != nil {
		return nil, err
	}
	runs, n, err := c.runs(ctx, latest, after, c.ask.Spectra)
	switch {
	case err != nil:
		return nil, err
	case c.ask.Spectra != SinceMark && n < c.ask.Spectra:
		return nil, notebook.Errorf(notebook.Invalid, "a mean of %d spectra was asked for, and %s there are %d", c.ask.Spectra, since, n)
	case n < uncertainty.FewestRepeats:
		return nil, notebook.Errorf(notebook.Invalid, "a mean is taken of %d spectra or more, and %s there are %d", uncertainty.FewestRepeats, since, n)
	case n > MostSpectra:
		return nil, notebook.Errorf(notebook.Invalid, "a mean is taken of at most %d spectra, and %s there are more: choose a number", MostSpectra, since)
	}
	return runs, nil
}

// runs lists up to most spectra from one source, the latest and those before it, as
// runs in which every spectrum from that source takes part. Of all since a mark it
// goes one too far rather than leave one out in silence.
func (c *chooser) runs(ctx context.Context, latest *notebook.Reading, after int64, most int) (runs []notebook.Input, n int, err error) {
	if most == SinceMark {
		most = MostSpectra + 1
	}
	open := false
	err = c.backwards(ctx, latest.Channel, after, func(r *notebook.Reading) bool {
		switch {
		case !isSpectrum(r) || !alike(r, latest):
			return true
		case !c.counts(r):
			open = false
			return true
		case open:
			runs[len(runs)-1].From = r.N
		default:
			runs, open = append(runs, notebook.Input{What: Spectrum, From: r.N, To: r.N, SHA256: r.Chain}), true
		}
		n++
		return n < most
	})
	slices.Reverse(runs)
	return runs, n, err
}

// since finds the reading after which spectra may be averaged: the latest switching on,
// or the latest mark where that is asked for. In words it says which it is.
func (c *chooser) since(ctx context.Context) (after int64, words string, err error) {
	words = "in this sitting"
	marked := false
	// What has a note always comes, however much is thinned.
	for r, err := range c.nb.Readings(ctx, notebook.Readings{Sitting: c.sit.ID, Decimate: 1, NoCurves: true}) {
		switch {
		case err != nil:
			return 0, "", err
		case c.sit.StruckOut(r.N) != "" || c.beyond(r.N):
		case live.IsSwitchOn(r.Note):
			after, words, marked = r.N, fmt.Sprintf("since the lamp was switched on (reading %d)", r.N), true
		case c.ask.Spectra == SinceMark && isMark(r):
			after, words, marked = r.N, fmt.Sprintf("since the mark “%s” (reading %d)", r.Note, r.N), true
		}
	}
	if c.ask.Spectra == SinceMark && !marked {
		return 0, "", notebook.Errorf(notebook.Invalid, "there is no mark in this sitting: enter one, or say how many of the latest spectra to average")
	}
	return after, words, nil
}

// isMark reports whether a reading is a remark of somebody at the bench, and nothing
// else. Of a reading without its curves a spectrum's note looks alike, so the channels
// of remarks are asked for.
func isMark(r *notebook.Reading) bool {
	return r.Note != "" && len(r.Values) == 0 && (r.Channel == "mark" || r.Channel == "bench")
}

// Choices are what an assay of a sitting can be made from.
type Choices struct {
	Latest *notebook.Reading // the latest spectrum, nil where there is none
	// Lit is the number of the last spectrum of the lamp's light where the latest is one
	// without, 0 where it is not.
	Lit     int64
	Spectra int    // how many can be averaged with it, itself included, up to [MostSpectra]
	Since   string // since when, in words
	// Marked is how many of them came after the latest mark, 0 where there is none.
	Marked int
	Mark   string // which mark, in words
	// Instruments are those of the sitting whose own file can correct raw counts.
	Instruments []*notebook.Instrument
}

// Choose looks what an assay of a sitting can be made from. spectra tells the numbers of
// the spectra that came by a channel, from somebody who follows them: to read them all
// only to count them would take seconds of a long sitting.
func Choose(ctx context.Context, nb notebook.Notebook, sit *notebook.Sitting, spectra func(channel string) []int64) (*Choices, error) {
	c := &chooser{nb: nb, sit: sit}
	d := new(Choices)
	var err error
	if d.Latest, err = c.latest(ctx); err != nil || d.Latest == nil {
		return d, err
	}
	if d.Lit, err = c.lit(ctx, d.Latest, spectra(d.Latest.Channel)); err != nil {
		return nil, err
	}
	c.ask.Upto = d.Lit
	after, since, err := c.since(ctx)
	if err != nil {
		return nil, err
	}
	d.Since = since
	count := func(after int64) (n int) {
		for _, at := range spectra(d.Latest.Channel) {
			if at > after && sit.StruckOut(at) == "" && !c.beyond(at) {
				n++
			}
		}
		return n
	}
	d.Spectra = min(count(after), MostSpectra)
	c.ask.Spectra = SinceMark
	if after, d.Mark, err = c.since(ctx); err == nil {
		d.Marked = count(after)
	} else if notebook.CodeOf(err) != notebook.Invalid {
		return nil, err
	}
	for _, id := range sit.Instruments {
		in, err := nb.Instruments().Get(ctx, id)
		if err != nil {
			return nil, err
		}
		if in.File != nil {
			d.Instruments = append(d.Instruments, in)
		}
	}
	return d, nil
}

// dark names the readings that are the dark.
func (c *chooser) dark(ctx context.Context) ([]notebook.Input, error) {
	from, to := c.ask.DarkFrom, c.ask.DarkTo
	if from == 0 {
		return nil, nil
	}
	if from < 1 || to < from {
		return nil, notebook.Errorf(notebook.Invalid, "the dark is a reading, or several from one number to another: %d to %d is none", from, to)
	}
	last, err := Reading(ctx, c.nb, c.sit.ID, to)
	if err != nil {
		return nil, err
	}
	if !isSpectrum(last) {
		return nil, notebook.Errorf(notebook.Invalid, "reading %d is no spectrum, so it cannot be the dark of one", to)
	}
	return []notebook.Input{{What: Dark, From: from, To: to, SHA256: last.Chain}}, nil
}

// Usual are the terms that a sitting's set-up suggests: the distance, and the route to
// the flux where its geometry tells. A sphere is taken for one that was set with the label of a box,
// since nothing says that its reference lamp has a certificate.
func Usual(sit *notebook.Sitting) Terms {
	usual := uncertainty.Usual()
	t := Terms{PowerAt: sit.SetUp.PowerAt, Class: usual.Spectrometer, Route: usual.Flux, Meter: usual.Power}
	if d := sit.SetUp.DistanceM; d != nil {
		t.DistanceM = *d
	}
	switch sit.SetUp.Geometry {
	case "lux at a distance":
		t.Route = "direction"
	case "sphere", "bounce box":
		t.Route = "sphere-label"
	}
	return t
}

// IsRaw reports whether a reading holds raw counts.
func IsRaw(r *notebook.Reading) bool {
	return isSpectrum(r) && r.Curve.Quantity == spectrum.Counts.String()
}
