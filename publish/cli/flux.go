package cli

import (
	"context"
	"errors"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"lampassay/assay/flux"
	"lampassay/assay/uncertainty"
	"lampassay/bench/ingest"
	"lampassay/light/distribution"
	"lampassay/light/spectrum"
)

func newFlux(s streams) *cobra.Command {
	var o anglesOptions
	c := &cobra.Command{
		Use:   "flux FILE",
		Short: "Luminous flux by the routes a small bench has, with its uncertainty",
		Long: `Finds the luminous flux of a lamp, with its standard uncertainty, a 95 %
interval and what to improve first. From a file it is light over directions:

  a table with a heading: angle (degrees from the axis), plane (degrees round
  it), lux or cd, distance (m), ambient (lux with the direct light blocked)
  an LM-63 file (.ies)

Symmetry is stated, never guessed, and angles that do not cover the sphere are
refused until --beyond says what to assume there. Other routes are commands of
their own below. With --json any of them writes a record, which goes into an assay
with all that makes it unsure: "lampassay assay LAMP --flux-record RECORD".`,
		Example: `  lampassay flux yard.csv --symmetry quadrant --lamp-size 0.3 --power 21
  lampassay flux lamp.ies --figure lamp.svg
  lampassay flux yard.csv --symmetry quadrant --ies yard.ies --name "yard floodlight"
  lampassay flux distance --size 0.3 --error 1`,
		Args: exactly(1, "one file, or the name of another route"),
		RunE: func(c *cobra.Command, args []string) error { return runAngles(c.Context(), s, &o, args[0]) },
	}
	o.register(c.Flags())
	c.AddCommand(newFluxOne(s), newFluxSphere(s), newFluxSpectral(s), newFluxDeclared(s), newFluxDistance(s))
	return c
}

// anglesOptions are the options of a flux over angles.
type anglesOptions struct {
	symmetry, beyond    string
	distance, distanceU optionalFloat
	angleU              optionalFloat
	size                optionalFloat
	shape               string
	meter               meterOptions
	power               optionalFloat
	ies, iesEdition     string
	name                string
	figure              string
	json                bool
}

func (o *anglesOptions) register(f *pflag.FlagSet) {
	f.SortFlags = false
	f.StringVar(&o.symmetry, "symmetry", "none", "which half-planes are alike: `none|bilateral|quadrant|rotational`")
	f.StringVar(&o.beyond, "beyond", "whole", "what to assume of angles that were not read: `whole|dark|hold|mirror` (whole: nothing, they must all be there)")
	f.Var(&o.distance, "distance", "from the lamp's centre to the meter in `m`, where the table has no column for it")
	f.Var(&o.distanceU, "distance-u", "its standard uncertainty in `m` (default 0.01)")
	f.Var(&o.angleU, "angle-u", "standard uncertainty of the zero of the angles in `degrees` (default 0.5)")
	f.Var(&o.size, "lamp-size", "diameter, side or length of what shines, in `m`")
	f.StringVar(&o.shape, "lamp-shape", "disc", "what shines: `disc|square|line`")
	o.meter.register(f)
	f.Var(&o.power, "power", "electrical power in `W`, for lm/W")
	f.StringVar(&o.ies, "ies", "", "also write an LM-63 `FILE`")
	f.StringVar(&o.iesEdition, "ies-edition", "2019", "edition of --ies: `2002|2019`")
	f.StringVar(&o.name, "name", "", "what to call the lamp (default: the file's name)")
	f.StringVar(&o.figure, "figure", "", "also draw where the light goes, to an .svg or .png `FILE`")
	f.BoolVar(&o.json, "json", false, "print one JSON object")
}

// meterOptions say what is known of the light meter.
type meterOptions struct {
	lamp     string
	scaleU   optionalFloat
	response string
	spectrum string
}

func (o *meterOptions) register(f *pflag.FlagSet) {
	f.StringVar(&o.lamp, "lamp", "unknown", "type of lamp, for what a meter without a response curve errs on it: `unknown|white|filament|choke|electronic|narrow`")
	f.Var(&o.scaleU, "meter-u", "relative standard uncertainty of the meter's calibration in `%` (default: the usual for a hand-held meter)")
	f.StringVar(&o.response, "meter-response", "", "the meter's relative spectral responsivity, a `FILE` of wavelength and value; it needs --spectrum")
	f.StringVar(&o.spectrum, "spectrum", "", "the lamp's spectrum, a `FILE`, for the mismatch of --meter-response")
}

// What a tape and a scale of degrees are good for where nobody says: own estimates.
const (
	usualDistanceU = 0.01 // m
	usualAngleU    = 0.5  // degrees
)

// fluxPartIn is a standard uncertainty as an option gives it, or the usual one.
func fluxPartIn(o optionalFloat, usual float64) flux.Part {
	if o.set {
		return flux.Part{U: o.v, Source: "as stated"}
	}
	return flux.Estimated(usual)
}

// fluxPart is a relative standard uncertainty in per cent, or what stands in for it.
func fluxPart(o optionalFloat, standing flux.Part) flux.Part {
	if o.set {
		return flux.Part{U: o.v / 100, Source: "as stated"}
	}
	return standing
}

// meter makes the light meter.
func (o *meterOptions) meter(s streams) (m flux.LightMeter, notes []string, err error) {
	lamp, err := uncertainty.ParseLamp(o.lamp)
	if err != nil {
		return m, nil, badInput("--lamp %q: it is unknown, white, filament, choke, electronic or narrow", o.lamp)
	}
	m = flux.MeterFor(lamp)
	m.Scale = fluxPart(o.scaleU, m.Scale)
	switch {
	case o.response == "" && o.spectrum == "":
		return m, nil, nil
	case o.response == "":
		return m, nil, badInput("--spectrum is for the mismatch of a light meter: give its response too, with --meter-response")
	case o.spectrum == "":
		return m, nil, badInput("--meter-response corrects for one lamp: give that lamp's spectrum too, with --spectrum")
	}
	nm, response, notes, err := readResponse(s, o.response)
	if err != nil {
		return m, nil, err
	}
	p, err := readProjected(s, o.spectrum)
	if err != nil {
		return m, nil, err
	}
	m.Mismatch, err = flux.MismatchOf(nm, response, p)
	if err != nil {
		return m, nil, spoken(err)
	}
	return m, notes, nil
}

// readResponse reads a meter's response curve. Its scale does not count, but it
// has to be one: over wavelengths, and of a meter, not of a lamp.
func readResponse(s streams, name string) (nm, response []float64, notes []string, err error) {
	file, err := readPlain(s, name)
	if err != nil {
		return nil, nil, nil, err
	}
	switch q := file.Spectrum.Quantity(); {
	case q == spectrum.Counts:
		return nil, nil, nil, badInput("%s holds counts, which are a reading of some light and not the meter's response to it: give relative responsivity over wavelength in nm", name)
	case q.Absolute():
		return nil, nil, nil, badInput("%s holds %s in %s, which is light and not a meter's response to it: give relative responsivity over wavelength in nm", name, q, q.Unit())
	}
	if file.Report.Unit == "%" {
		notes = append(notes, "The meter's response is in per cent: only its shape counts.")
	}
	return file.Spectrum.Axis(), file.Spectrum.Values(), notes, nil
}

// readPlain reads a file beside the one that a command is about, of which its
// options on reading do not speak: one that needs them has to be written anew.
func readPlain(s streams, name string) (*ingest.File, error) {
	file, err := readOne(s, name, ingest.Options{})
	var problem *ingest.Problem
	if errors.As(err, &problem) && strings.Contains(problem.Want, "--") {
		told := *problem
		told.Want = "write it as two columns, wavelength in nm and value"
		return nil, &told
	}
	return file, err
}

// readOne reads a file that has to hold one spectrum.
func readOne(s streams, name string, read ingest.Options) (*ingest.File, error) {
	in, err := readInput(s, name, read)
	if err != nil {
		return nil, err
	}
	defer in.Close()
	if in.wide != nil {
		return nil, badInput("%s holds %d curves, and this takes one: keep two columns of it", in.name, in.wide.Columns())
	}
	return in.file, nil
}

// readProjected reads a lamp's spectrum onto the grid.
func readProjected(s streams, name string) (*spectrum.Projected, error) {
	file, err := readPlain(s, name)
	if err != nil {
		return nil, err
	}
	p, err := file.Spectrum.Project(file.Projection)
	if err != nil {
		return nil, badInput("%s: %w", file.Name, err)
	}
	return p, nil
}

func runAngles(ctx context.Context, s streams, o *anglesOptions, name string) error {
	err := allPositive([]positive{
		{"distance", o.distance}, {"distance-u", o.distanceU}, {"angle-u", o.angleU}, {"lamp-size", o.size}, {"power", o.power}, {"meter-u", o.meter.scaleU},
	})
	if err != nil {
		return err
	}
	if err := checkPicture(o.figure); err != nil {
		return err
	}
	switch {
	case o.ies != "" && !strings.EqualFold(filepath.Ext(o.ies), ".ies"):
		return badInput("--ies %s: its name has to end in .ies", o.ies)
	case o.ies != "" && sameFile(name, o.ies):
		return badInput("--ies %s is the file that is read: give another name", o.ies)
	}
	a, of, err := o.readings(s, name)
	if err != nil {
		return err
	}
	r, err := a.Assess(ctx, uncertainty.Options{})
	if err != nil {
		var gap *distribution.GapError
		if errors.As(err, &gap) {
			return badInput("%s: %w: read them, or say %s", of.base, spoken(err), gapRemedy(gap))
		}
		return badInput("%s: %w", of.base, spoken(err))
	}
	r.Reasons = append(r.Reasons, of.notes...)
	if o.name == "" {
		o.name = strings.TrimSuffix(of.base, filepath.Ext(of.base))
	}
	if err := o.write(s, a, r, of); err != nil {
		return err
	}
	out := fluxOutput{s: s, json: o.json, power: o.power, input: of.base, sha256: of.sha256}
	return out.angles(r, o.name)
}

// gapRemedy says which option would do for a gap.
func gapRemedy(gap *distribution.GapError) string {
	if gap.Planes {
		return "which half-planes are alike, with --symmetry"
	}
	return "what to assume there, with --beyond"
}
