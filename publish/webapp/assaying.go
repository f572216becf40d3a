package webapp

import (
	"cmp"
	"context"
	"errors"
	"fmt"

	"lampassay/assay"
	"lampassay/assay/ladder"
	"lampassay/assay/quantity"
	"lampassay/assay/uncertainty"
	"lampassay/bench/evidence"
	"lampassay/bench/notebook"
	"lampassay/light/emission"
	"lampassay/light/spectrum"
	"lampassay/publish/sheet"
)

// Names of what is measured, of methods, and of channels.
const (
	inputSpectrum  = evidence.Spectrum
	keyFlux        = evidence.Flux
	keyPower       = evidence.Power
	keyPowerLamp   = evidence.PowerLamp
	methodAssay    = "assay"
	powerAtLamp    = evidence.AtLamp
	powerAtMains   = "mains"
	usualClass     = "compact"
	seedOfDraws    = 1
	channelEntered = "entry"
	channelFile    = "file"
	channelMark    = "mark"
	channelBench   = "bench" // what a session at the bench notes itself
)

// gather takes the latest readings of a sitting that an assay needs and nobody has
// set aside. projection "" leaves it to the wavelengths.
func (s *Server) gather(ctx context.Context, sit *notebook.Sitting, projection, class string) (*evidence.Evidence, error) {
	return evidence.Gather(ctx, s.nb, sit, evidence.Ask{Terms: evidence.Terms{Projection: projection, Class: class}})
}

// reading fetches one reading.
func (s *Server) reading(ctx context.Context, sitting notebook.ID, n int64) (*notebook.Reading, error) {
	return evidence.Reading(ctx, s.nb, sitting, n)
}

// spectrumOf turns a kept curve into a spectrum.
func spectrumOf(c *notebook.Curve) (*spectrum.Spectrum, error) { return evidence.OfCurve(c) }

// assayed is an assay with everything that a sheet shows.
type assayed struct{ lamp sheet.Lamp }

// sheetKey names a drawn sheet: it also says what is now known of the lamp.
type sheetKey struct {
	assay    notebook.ID
	revision int64 // of the lamp
}

// evaluate computes everything that a sheet shows.
func (s *Server) evaluate(ctx context.Context, e *evidence.Evidence) (*assayed, error) {
	select {
	case s.heavy <- struct{}{}:
		defer func() { <-s.heavy }()
	case <-ctx.Done():
		return nil, ctx.Err()
	}
	p, err := e.Spectrum.Project(e.Projection)
	if err != nil {
		return nil, bad("%s", sentence(err.Error()))
	}
	r := new(assay.Result)
	assay.NewEvaluator().Evaluate(p, &e.Given, r)
	r.Emission, err = emission.Analyse(e.Spectrum, emission.Options{})
	if err != nil && !errors.Is(err, emission.ErrTooFew) && !errors.Is(err, emission.ErrScale) {
		return nil, bad("%s", sentence(err.Error()))
	}
	from, to := e.Spectrum.Range()
	out := &assayed{lamp: sheet.Lamp{
		Result: r, Spectrum: e.Spectrum, Emission: r.Emission, Reading: e.Sentences(),
		Input: assay.Input{
			File: e.Named(), SHA256: string(e.Sum()), Samples: e.Spectrum.Len(), FromNm: from, ToNm: to,
			Quantity: e.Spectrum.Quantity().String(), Projection: e.Projection.String(),
		},
	}}
	for _, text := range e.Warnings() {
		out.lamp.Warnings = append(out.lamp.Warnings, sentence(text))
	}
	if err := s.assess(ctx, &out.lamp, e); err != nil {
		return nil, err
	}
	out.lamp.Ladder, err = ladder.Of(ctx, r, ladder.Options{Best: ladder.Search(s.solver)})
	return out, err
}

// assess gives every figure its uncertainty.
func (s *Server) assess(ctx context.Context, lamp *sheet.Lamp, e *evidence.Evidence) error {
	c, k, err := e.Case(lamp.Result)
	if err != nil {
		return err
	}
	warnings, err := c.Assess(ctx, k, uncertainty.Options{Seed: seedOfDraws, Draws: s.opt.Draws})
	if ctx.Err() != nil {
		return ctx.Err()
	}
	if err != nil {
		return bad("%s", sentence(err.Error()))
	}
	lamp.Warnings = append(lamp.Warnings, warnings...)
	return nil
}

// recordOf is the JSON record of an assay.
func recordOf(done *assayed, e *evidence.Evidence) ([]byte, error) {
	line := assay.NewRecorder(assay.Default()).Append(nil, &done.lamp.Input, done.lamp.Result, done.lamp.Warnings)
	for _, more := range e.Record() {
		var err error
		if line, err = assay.WithKey(line, more.Key, more.Value); err != nil {
			return nil, err
		}
	}
	return line, nil
}

// assayedOf returns an assay as its lamp is now called and described. The figures
// are computed again from the readings it names where they are not at hand.
func (s *Server) assayedOf(ctx context.Context, a *notebook.Assay) (sheet.Lamp, error) {
	l, err := s.nb.Lamps().Get(ctx, a.Lamp)
	if err != nil {
		return sheet.Lamp{}, err
	}
	done, err := s.sheets.get(ctx, a.ID, func(ctx context.Context) (*assayed, error) {
		if a.Sitting == 0 {
			return nil, bad("This assay was not made from a sitting, so its sheet cannot be drawn here. Its record can be downloaded.")
		}
		e, err := s.evidenceOf(ctx, a)
		if err != nil {
			return nil, err
		}
		return s.evaluate(ctx, e)
	})
	if err != nil {
		return sheet.Lamp{}, err
	}
	lamp := done.lamp
	lamp.Name, lamp.Note = nameOfLamp(l), l.Notes
	for _, d := range l.Declared {
		if def, err := quantity.ByKey(d.Quantity); err == nil {
			lamp.Declared = append(lamp.Declared, sheet.Declared{ID: def.ID, Value: d.Value})
		}
	}
	return lamp, nil
}

// evidenceOf reads what a kept assay was made from.
func (s *Server) evidenceOf(ctx context.Context, a *notebook.Assay) (*evidence.Evidence, error) {
	sit, err := s.nb.Sittings().Get(ctx, a.Sitting)
	if err != nil {
		return nil, err
	}
	terms, err := evidence.TermsOf(a.Methods)
	if err != nil {
		return nil, fmt.Errorf("webapp: assay %d: %w", a.ID, err)
	}
	terms.Class = cmp.Or(terms.Class, usualClass)
	return evidence.Take(ctx, s.nb, sit, a.Inputs, terms)
}

// fragmentOf draws the sheet of an assay.
func (s *Server) fragmentOf(ctx context.Context, a *notebook.Assay) (*sheet.Fragment, error) {
	l, err := s.nb.Lamps().Get(ctx, a.Lamp)
	if err != nil {
		return nil, err
	}
	return s.fragments.get(ctx, sheetKey{a.ID, l.Revision}, func(ctx context.Context) (*sheet.Fragment, error) {
		lamp, err := s.assayedOf(ctx, a)
		if err != nil {
			return nil, err
		}
		return sheet.NewFragment(lamp, sheet.Options{Version: s.opt.Version})
	})
}

// auto is what a reader of files calls an answer that is left to it.
func auto(s string) string { return cmp.Or(s, "auto") }
