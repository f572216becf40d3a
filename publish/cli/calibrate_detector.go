package cli

import (
	"fmt"
	"slices"

	"github.com/spf13/cobra"

	"lampassay/bench/instrument"
	"lampassay/light/calibration"
)

// detectorOptions are what every calibration of an instrument with an axis has.
type detectorOptions struct {
	raw  rawOptions
	keep keepOptions
}

func (o *detectorOptions) register(c *cobra.Command) {
	f := c.Flags()
	f.SortFlags = false
	o.keep.register(f, "its axis has to be calibrated")
	o.raw.register(f)
	o.raw.read.register(f)
}

// start reads instrument, day and recordings, which have to tell their exposures.
func (o *detectorOptions) start(s streams, files []string) (in *instrument.Instrument, day instrument.Day, m instrument.Measurement, err error) {
	if in, day, m, err = o.begin(s, files); err == nil {
		err = timed(&m)
	}
	return in, day, m, err
}

// begin reads instrument, day and recordings.
func (o *detectorOptions) begin(s streams, files []string) (in *instrument.Instrument, day instrument.Day, m instrument.Measurement, err error) {
	if day, err = o.keep.day(); err != nil {
		return in, day, m, err
	}
	if in, err = o.keep.load(); err != nil {
		return in, day, m, err
	}
	m, _, err = o.raw.measurement(s, files)
	return in, day, m, err
}

// finish prints what was found and keeps the instrument.
func (o *detectorOptions) finish(s streams, in *instrument.Instrument, text string, record any) error {
	if err := emit(s.out, o.keep.json, record, func(v *view) { v.wrapped("", in.Name+": "+text, "") }); err != nil {
		return err
	}
	return o.keep.save(s, in)
}

func newCalibrateStray(s streams) *cobra.Command {
	var o detectorOptions
	var edge optionalFloat
	c := &cobra.Command{
		Use:   "stray FILE... --edge NM",
		Short: "Stray light, from a filament lamp behind a long-pass filter",
		Long: `What is counted below the edge of a long-pass filter cannot have come through it:
it is stray light. The instrument keeps which share of all light every pixel sees
besides its own.`,
		Example: "  lampassay calibrate stray behind-oranges.csv --edge 555 --dark dark.csv --instrument club.json",
		Args:    atLeastOneFile,
		RunE: func(_ *cobra.Command, files []string) error {
			if !edge.set || !(edge.v > 0) {
				return badInput("below which wavelength does the filter pass nothing? Give it in nm with --edge")
			}
			in, day, m, err := o.start(s, files)
			if err != nil {
				return err
			}
			stray, u, err := in.CalibrateStray(m, edge.v)
			if err != nil {
				return spoken(err)
			}
			in.Stray = dated(&o.keep, day, instrument.StrayDays, baseNames(files, o.raw.darks), stray)
			n := float64(in.Pixels)
			text := fmt.Sprintf("every pixel sees %.3g of all light besides its own, together %s %% (standard uncertainty)", stray.Share, plusMinus(100*n*stray.Share, 100*n*u))
			return o.finish(s, in, text, struct {
				Instrument string  `json:"instrument"`
				Share      float64 `json:"share_per_pixel"`
				U          float64 `json:"u_share_per_pixel"`
			}{in.Name, stray.Share, u})
		},
	}
	c.Flags().Var(&edge, "edge", "wavelength in `nm` below which the filter passes nothing")
	o.register(c)
	return c
}

func newCalibrateSecondOrder(s streams) *cobra.Command {
	var o detectorOptions
	name := "mercury"
	c := &cobra.Command{
		Use:   "second-order FILE... --lamp NAME",
		Short: "Second-order light, from a line lamp without lines there",
		Long: `A grating shows light a second time, at twice its wavelength. The instrument keeps
what part of each strong line is seen there. The lamp must have no lines of its
own where its ghosts fall: mercury alone is good, mercury-argon is not.`,
		Example: "  lampassay calibrate second-order mercury.csv --dark dark.csv --instrument club.json",
		Args:    atLeastOneFile,
		RunE: func(_ *cobra.Command, files []string) error {
			lamp, err := calibration.LampByName(name)
			if err != nil {
				return spoken(err)
			}
			in, day, m, err := o.start(s, files)
			if err != nil {
				return err
			}
			c, err := in.Correct(m, instrument.Options{Skip: []instrument.StepName{instrument.StepSecondOrder, instrument.StepResponse}})
			if err != nil {
				return spoken(err)
			}
			axis := c.Spectrum.Axis()
			clipped := make([]bool, len(axis))
			for i, nm := range axis {
				clipped[i] = slices.Contains(c.Lost, nm)
			}
			ghosts := calibration.FindGhosts(axis, c.Spectrum.Values(), clipped, lamp)
			order, err := calibration.NewSecondOrder(ghosts)
			if err != nil {
				return spoken(err)
			}
			in.SecondOrder = dated(&o.keep, day, 0, baseNames(files, o.raw.darks), order)
			text := "second order over first, in counts:"
			for _, g := range ghosts {
				text += fmt.Sprintf(" %s %% of %.1f nm,", plusMinus(100*g.Ratio, 100*g.U), g.Nm)
			}
			return o.finish(s, in, text[:len(text)-1], struct {
				Instrument  string                  `json:"instrument"`
				SecondOrder calibration.SecondOrder `json:"second_order"`
			}{in.Name, order})
		},
	}
	c.Flags().StringVar(&name, "lamp", name, "the `lamp` recorded")
	o.register(c)
	return c
}

func newCalibrateLinearity(s streams) *cobra.Command {
	var o detectorOptions
	order := 2
	c := &cobra.Command{
		Use:     "linearity FILE... --dark FILES",
		Short:   "Departure from proportion, from one steady light at several exposures",
		Long:    `Fits a polynomial in counts to an exposure series of one steady light.`,
		Example: "  lampassay calibrate linearity t10.csv t20.csv t40.csv --dark d10.csv,d20.csv,d40.csv --instrument club.json",
		Args:    atLeastOneFile,
		RunE: func(_ *cobra.Command, files []string) error {
			if order < 1 || order > 3 {
				return badInput("--order %d: it is 1, 2 or 3", order)
			}
			in, day, m, err := o.start(s, files)
			if err != nil {
				return err
			}
			if in.FullScale == 0 {
				return badInput("%s has no full scale, and linearity is in parts of it: give it to \"calibrate wavelength\" with --full-scale", in.Name)
			}
			series, err := in.DarkCorrected(m)
			if err != nil {
				return spoken(err)
			}
			linearity, err := calibration.FitLinearity(series, in.FullScale, order)
			if err != nil {
				return spoken(err)
			}
			in.Linearity = dated(&o.keep, day, instrument.LinearityDays, baseNames(files, o.raw.darks), linearity)
			half := []float64{in.FullScale / 2, in.FullScale * 0.85}
			off := linearity.Correct(half)
			text := fmt.Sprintf("at half of full scale counts are corrected by %s %%, at 85 %% by %s %%", signedNumber(100*(off[0]/half[0]-1), 2), signedNumber(100*(off[1]/half[1]-1), 2))
			return o.finish(s, in, text, struct {
				Instrument string                `json:"instrument"`
				Linearity  calibration.Linearity `json:"linearity"`
			}{in.Name, linearity})
		},
	}
	c.Flags().IntVar(&order, "order", order, "order of the polynomial, `1|2|3`")
	o.register(c)
	return c
}
