package webapp

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"

	"lampassay/assay"
	"lampassay/assay/conformity"
	"lampassay/assay/ladder"
	"lampassay/assay/quantity"
	"lampassay/assay/uncertainty"
	"lampassay/bench/ingest"
	"lampassay/bench/notebook"
	"lampassay/light/emission"
	"lampassay/light/spectrum"
	"lampassay/publish/sheet"
)

// evidence is what an assay is made from: readings of a sitting, each named by its
// number, and how they are taken.
type evidence struct {
	spectrum   *spectrum.Spectrum
	projection spectrum.Projection
	class      string // of the spectrometer, for the uncertainty
	given      assay.Given
	inputs     []notebook.Input
	named      string // the spectrum, in words
}

// Names of an assay's inputs: the spectrum, and values by their key.
const (
	inputSpectrum  = "spectrum"
	keyFlux        = "luminous_flux"
	keyPower       = "power"
	keyPowerLamp   = "power_lamp"
	methodAssay    = "assay"
	methodReads    = "projection"
	methodClass    = "uncertainty class"
	powerAtLamp    = "lamp terminals"
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
func (s *Server) gather(ctx context.Context, sit *notebook.Sitting, projection, class string) (*evidence, error) {
	last := map[string]*notebook.Reading{}
	found, err := s.lastSpectrum(ctx, sit)
	if err != nil {
		return nil, err
	}
	if found != nil {
		last[inputSpectrum] = found
	}
	for reading, err := range s.nb.Readings(ctx, notebook.Readings{Sitting: sit.ID, NoCurves: true}) {
		switch {
		case err != nil:
			return nil, err
		case sit.StruckOut(reading.N) != "":
			continue
		}
		for _, v := range reading.Values {
			if v.V != nil && v.Flag == "" {
				last[v.Key] = reading
			}
		}
	}
	if last[inputSpectrum] == nil {
		return nil, bad("This sitting has no spectrum yet, and everything is computed from one: import a file into it, or record one.")
	}
	var inputs []notebook.Input
	for _, what := range []string{inputSpectrum, keyFlux, keyPower, keyPowerLamp} {
		if reading := last[what]; reading != nil {
			inputs = append(inputs, notebook.Input{What: what, From: reading.N, To: reading.N, SHA256: reading.Chain})
		}
	}
	return s.take(ctx, sit, inputs, projection, class)
}

// take reads the inputs of an assay from its sitting.
func (s *Server) take(ctx context.Context, sit *notebook.Sitting, inputs []notebook.Input, projection, class string) (*evidence, error) {
	e := &evidence{inputs: inputs, class: class}
	for _, in := range inputs {
		reading, err := s.reading(ctx, sit.ID, in.From)
		if err != nil {
			return nil, err
		}
		if reading.Chain != in.SHA256 {
			return nil, notebook.Errorf(notebook.Damaged, "reading %d of sitting %d is not the one that the assay names", in.From, sit.ID)
		}
		if in.What == inputSpectrum {
			if e.spectrum, err = spectrumOf(reading.Curve); err != nil {
				return nil, err
			}
			e.named = fmt.Sprintf("reading %d of sitting %d", in.From, sit.ID)
			continue
		}
		for _, v := range reading.Values {
			if v.Key != in.What || v.V == nil {
				continue
			}
			switch known := assay.Measured(*v.V); {
			case v.Key == keyFlux:
				e.given.Flux = known
			case v.Key == keyPowerLamp || sit.SetUp.PowerAt == powerAtLamp:
				e.given.PowerLamp = known
			default:
				e.given.Power = known
			}
		}
	}
	if e.spectrum == nil {
		return nil, notebook.Errorf(notebook.Invalid, "the assay names no spectrum")
	}
	e.given.Source = conformity.LightSource{Mains: e.given.Power.Known}
	chosen, err := ingest.ParseProjection(auto(projection))
	if err != nil {
		return nil, bad("%s", sentence(err.Error()))
	}
	if e.projection = spectrum.Guess(e.spectrum.Axis()); chosen != nil {
		e.projection = *chosen
	}
	return e, nil
}

func auto(s string) string {
	if s == "" {
		return "auto"
	}
	return s
}

// lastSpectrum returns the latest spectrum of a sitting that nobody has set aside,
// nil where there is none. It looks from the end, a longer stretch each time.
func (s *Server) lastSpectrum(ctx context.Context, sit *notebook.Sitting) (found *notebook.Reading, err error) {
	tally, err := s.nb.Tally(ctx, sit.ID)
	if err != nil {
		return nil, err
	}
	for to, stretch := tally.Readings, int64(16); to > 0 && found == nil; stretch *= 2 {
		after := max(to-stretch, 0)
		for reading, err := range s.nb.Readings(ctx, notebook.Readings{Sitting: sit.ID, After: after, Limit: int(to - after)}) {
			if err != nil {
				return nil, err
			}
			if c := reading.Curve; c != nil && c.Axis != nil && sit.StruckOut(reading.N) == "" {
				found = reading
			}
		}
		to = after
	}
	return found, nil
}

// reading fetches one reading.
func (s *Server) reading(ctx context.Context, sitting notebook.ID, n int64) (*notebook.Reading, error) {
	for reading, err := range s.nb.Readings(ctx, notebook.Readings{Sitting: sitting, After: n - 1, Limit: 1}) {
		if err != nil {
			return nil, err
		}
		if reading.N == n {
			return reading, nil
		}
	}
	return nil, notebook.Errorf(notebook.NotFound, "there is no reading %d in sitting %d", n, sitting)
}

// spectrumOf turns a kept curve into a spectrum. Samples that are missing are left
// out with their wavelengths, as the readers of files leave them out.
func spectrumOf(c *notebook.Curve) (*spectrum.Spectrum, error) {
	if c == nil || c.Axis == nil {
		return nil, notebook.Errorf(notebook.Invalid, "that reading is no spectrum")
	}
	q, err := spectrum.ParseQuantity(c.Quantity)
	if err != nil {
		return nil, notebook.Errorf(notebook.Invalid, "a spectrum of %q cannot be assayed: %w", c.Quantity, err)
	}
	var nm, values []float64
	for i, v := range c.Samples {
		if !math.IsNaN(v) {
			nm, values = append(nm, c.Axis[i]), append(values, v)
		}
	}
	sp, err := spectrum.New(q, nm, values)
	if err != nil {
		return nil, bad("%s", sentence(err.Error()))
	}
	return sp, nil
}

// assayed is an assay with everything that a sheet shows.
type assayed struct{ lamp sheet.Lamp }

// sheetKey names a drawn sheet: it also says what is now known of the lamp.
type sheetKey struct {
	assay    notebook.ID
	revision int64 // of the lamp
}

// evaluate computes everything that a sheet shows.
func (s *Server) evaluate(ctx context.Context, e *evidence) (*assayed, error) {
	select {
	case s.heavy <- struct{}{}:
		defer func() { <-s.heavy }()
	case <-ctx.Done():
		return nil, ctx.Err()
	}
	p, err := e.spectrum.Project(e.projection)
	if err != nil {
		return nil, bad("%s", sentence(err.Error()))
	}
	r := new(assay.Result)
	assay.NewEvaluator().Evaluate(p, &e.given, r)
	r.Emission, err = emission.Analyse(e.spectrum, emission.Options{})
	if err != nil && !errors.Is(err, emission.ErrTooFew) && !errors.Is(err, emission.ErrScale) {
		return nil, bad("%s", sentence(err.Error()))
	}
	from, to := e.spectrum.Range()
	out := &assayed{lamp: sheet.Lamp{
		Result: r, Spectrum: e.spectrum, Emission: r.Emission,
		Input: assay.Input{
			File: e.named, SHA256: string(e.inputs[0].SHA256), Samples: e.spectrum.Len(), FromNm: from, ToNm: to,
			Quantity: e.spectrum.Quantity().String(), Projection: e.projection.String(),
		},
	}}
	if err := s.assess(ctx, &out.lamp, e); err != nil {
		return nil, err
	}
	out.lamp.Ladder, err = ladder.Of(ctx, r, ladder.Options{Best: ladder.Search(s.solver)})
	return out, err
}

// assess gives every figure its uncertainty, at the usual figures of a class.
func (s *Server) assess(ctx context.Context, lamp *sheet.Lamp, e *evidence) error {
	c := uncertainty.Conditions{Defaults: uncertainty.Usual()}
	c.Defaults.Spectrometer = e.class
	if lamp.Emission != nil {
		c.Defaults.Lamp = uncertainty.LampOfFamily(lamp.Emission.Family.Key).String()
	}
	sitting, err := c.Sitting(e.spectrum, e.projection, e.given)
	if err != nil {
		return bad("%s", sentence(err.Error()))
	}
	if lamp.Emission != nil && lamp.Emission.BandwidthMeasured {
		sitting.Spectrometer.Seen(lamp.Emission.Bandwidth)
	}
	for _, d := range quantity.All() {
		if _, ok := lamp.Result.Value(d.ID); ok && (!d.Detail || d.ID < quantity.R(1)) {
			sitting.Quantities = append(sitting.Quantities, d.ID)
		}
	}
	report, err := sitting.Assess(ctx, uncertainty.Options{Seed: seedOfDraws, Draws: s.opt.Draws})
	if err != nil {
		return fmt.Errorf("webapp: uncertainty: %w", err)
	}
	var without []quantity.ID
	lamp.Result.Uncertainty, without = report.Summary()
	lamp.Result.Uncertainty.Basis = c.Basis(&sitting.Given)
	for _, id := range without {
		lamp.Warnings = append(lamp.Warnings, quantity.Get(id).Name+" has no stated uncertainty: more than 5 % of the draws leave it undefined.")
	}
	return nil
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
		sit, err := s.nb.Sittings().Get(ctx, a.Sitting)
		if err != nil {
			return nil, err
		}
		e, err := s.take(ctx, sit, a.Inputs, a.Methods[methodReads], cmp.Or(a.Methods[methodClass], usualClass))
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
