package cli

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"lampassay/assay/flux"
	"lampassay/assay/uncertainty"
	"lampassay/light/distribution"
)

// beamOptions are what one direction needs to become a flux.
type beamOptions struct {
	ambient             optionalFloat
	distance, distanceU optionalFloat
	beam                string
	beamU               optionalFloat
	size                optionalFloat
	shape               string
	power               optionalFloat
	json                bool
}

func (o *beamOptions) register(f *pflag.FlagSet) {
	f.Var(&o.distance, "distance", "from lamp to meter in `m`")
	f.Var(&o.distanceU, "distance-u", "its standard uncertainty in `m` (default 0.01)")
	f.StringVar(&o.beam, "beam", "", "what is assumed of all other directions: `lambertian|uniform|cosine:N|beam:DEGREES|cone:DEGREES`")
	f.Var(&o.beamU, "beam-u", "relative standard uncertainty of that assumption in `%` (default 15)")
	f.Var(&o.size, "lamp-size", "diameter, side or length of what shines, in `m`")
	f.StringVar(&o.shape, "lamp-shape", "disc", "what shines: `disc|square|line`")
	f.Var(&o.power, "power", "electrical power in `W`, for lm/W")
	f.BoolVar(&o.json, "json", false, "print one JSON object")
}

// direction makes the part of the route that the options of a beam settle.
func (o *beamOptions) direction() (d flux.OneDirection, err error) {
	err = allPositive([]positive{{"distance", o.distance}, {"distance-u", o.distanceU}, {"beam-u", o.beamU}, {"lamp-size", o.size}, {"power", o.power}})
	if err != nil {
		return d, err
	}
	if !o.distance.set {
		return d, badInput("say how far the meter was from the lamp, with --distance")
	}
	d.Distance, d.DistanceU, d.Size = o.distance.v, fluxPartIn(o.distanceU, usualDistanceU), o.size.v
	if d.Shape, err = distribution.ParseShape(o.shape); err != nil {
		return d, badInput("--lamp-shape %q: it is disc, square or line", o.shape)
	}
	d.ModelU = fluxPart(o.beamU, flux.ModelUncertainty())
	d.Model, err = parseBeam(o.beam)
	return d, err
}

// parseBeam reads a beam model.
func parseBeam(text string) (distribution.Model, error) {
	const want = "it is lambertian, uniform, cosine:N, beam:DEGREES or cone:DEGREES"
	name, argument, has := strings.Cut(text, ":")
	x, err := parseNumber(argument)
	number := has && err == nil
	switch {
	case text == "":
		return distribution.Model{}, badInput("one direction says nothing of the others: say what the beam is like, with --beam (%s)", want)
	case text == "lambertian":
		return distribution.Lambertian(), nil
	case text == "uniform":
		return distribution.Uniform(), nil
	case name == "cosine" && number && x >= 0:
		return distribution.CosinePower(x), nil
	case name == "beam" && number && x >= 0.1 && x < 180:
		return distribution.BeamAngle(x), nil
	case name == "cone" && number && x > 0 && x <= 360:
		return distribution.Cone(x), nil
	case name == "beam" && number:
		return distribution.Model{}, badInput("--beam %q: a beam angle lies from 0.1° to below 180°", text)
	case name == "cone" && number:
		return distribution.Model{}, badInput("--beam %q: a cone is above 0° and at most 360° across", text)
	}
	return distribution.Model{}, badInput("--beam %q: %s", text, want)
}

func newFluxOne(s streams) *cobra.Command {
	var o beamOptions
	var meter meterOptions
	var lux numberList
	c := &cobra.Command{
		Use:   "one",
		Short: "From lux in one direction and a beam that is assumed",
		Long: `Takes lux in one direction for a flux by assuming what the beam is like. That
assumption is most of the uncertainty, and it is a large one: a measurement over
angles says more.`,
		Example: "  lampassay flux one --lux 320 --distance 1.5 --beam lambertian --lamp-size 0.2",
		Args:    exactly(0, "no file"),
		RunE: func(c *cobra.Command, _ []string) error {
			if err := allPositive([]positive{{"meter-u", meter.scaleU}}); err != nil {
				return err
			}
			if len(lux) == 0 {
				return badInput("say what the meter read, with --lux; repeats between commas")
			}
			d, err := o.direction()
			if err != nil {
				return err
			}
			m, notes, err := meter.meter(s)
			if err != nil {
				return err
			}
			d.Lux, d.Ambient, d.Meter = lux, o.ambient.v, m
			r, err := d.Assess(c.Context(), uncertainty.Options{})
			if err != nil {
				return spoken(err)
			}
			r.Reasons = append(r.Reasons, notes...)
			out := fluxOutput{s: s, json: o.json, power: o.power}
			return out.print(r, fmt.Sprintf("%g m in front of the lamp", d.Distance))
		},
	}
	f := c.Flags()
	f.SortFlags = false
	f.Var(&lux, "lux", "`readings` in lux, repeats between commas")
	f.Var(&o.ambient, "ambient", "`lux` with the direct light blocked, to be taken off")
	o.register(f)
	meter.register(f)
	return c
}

func newFluxSpectral(s streams) *cobra.Command {
	var o beamOptions
	class := "compact"
	c := &cobra.Command{
		Use:   "spectral FILE",
		Short: "From a spectrum in W/(m² nm) in one direction and a beam that is assumed",
		Long: `Takes a spectrum of irradiance in one direction for a flux by assuming what the
beam is like. There is no spectral mismatch; the spectrometer's absolute scale
stands in its place.`,
		Example: "  lampassay flux spectral lamp.csv --distance 1 --beam beam:60",
		Args:    exactly(1, "one file"),
		RunE: func(c *cobra.Command, args []string) error {
			d, err := o.direction()
			if err != nil {
				return err
			}
			in, err := uncertainty.SpectrometerClass(class)
			if err != nil {
				return badInput("--spectrometer %q: it is home, compact, bench or exact", class)
			}
			p, err := readProjected(s, args[0])
			if err != nil {
				return err
			}
			d.Meter = flux.MeterFor(uncertainty.Unknown)
			r, err := (&flux.Irradiance{Spectrum: p, Scale: flux.ScaleOf(in), OneDirection: d}).Assess(c.Context(), uncertainty.Options{})
			if err != nil {
				return badInput("%s: %w", filepath.Base(args[0]), spoken(err))
			}
			out := fluxOutput{s: s, json: o.json, power: o.power}
			return out.print(r, filepath.Base(args[0]))
		},
	}
	f := c.Flags()
	f.SortFlags = false
	o.register(f)
	f.StringVar(&class, "spectrometer", class, "class of spectrometer whose usual uncertainty of scale stands in: `home|compact|bench|exact`")
	return c
}

// sphereOptions are the options of a substitution.
type sphereOptions struct {
	reference, referenceU optionalFloat
	lamp, standard        numberList
	auxLamp, auxStandard  numberList
	dark                  optionalFloat
	kind                  string
	response              string
	spectrum, spectrumRef string
	power                 optionalFloat
	json                  bool
}

func newFluxSphere(s streams) *cobra.Command {
	var o sphereOptions
	c := &cobra.Command{
		Use:   "sphere",
		Short: "From a sphere or white box, against a reference lamp",
		Long: `Takes the meter's reading with the lamp in a sphere or white box against its
reading with a reference lamp of known flux in the same place. An auxiliary lamp,
read with each of the two in place and off, corrects for what they absorb.`,
		Example: `  lampassay flux sphere --reference 806 --reference-u 6 --read 41.2,41.5 --read-reference 50.1,49.8
  lampassay flux sphere --reference 1030 --reference-u 1.5 --read 41.2 --read-reference 50.1 \
      --aux 20.1 --aux-reference 21.3 --lamp white`,
		Args: exactly(0, "no file"),
		RunE: func(c *cobra.Command, _ []string) error { return runSphere(c.Context(), s, &o) },
	}
	f := c.Flags()
	f.SortFlags = false
	f.Var(&o.reference, "reference", "flux of the reference lamp in `lm`")
	f.Var(&o.referenceU, "reference-u", "its relative standard uncertainty in `%`: about 1.5 with a certificate, 6 with the label of its box (default 6)")
	f.Var(&o.lamp, "read", "the meter with the lamp: `readings`, repeats between commas")
	f.Var(&o.standard, "read-reference", "the meter with the reference lamp: `readings`")
	f.Var(&o.auxLamp, "aux", "the meter with the auxiliary lamp, the lamp in place and off: `readings`")
	f.Var(&o.auxStandard, "aux-reference", "the same with the reference lamp in place and off: `readings`")
	f.Var(&o.dark, "dark", "the meter's `reading` with every lamp off")
	f.StringVar(&o.kind, "lamp", "unknown", "type of lamp, for the mismatch where there is no response curve: `unknown|white|filament|choke|electronic|narrow`")
	f.StringVar(&o.response, "meter-response", "", "relative spectral responsivity of meter and sphere together, a `FILE`; it needs the spectra")
	f.StringVar(&o.spectrum, "spectrum", "", "the lamp's spectrum, a `FILE`")
	f.StringVar(&o.spectrumRef, "spectrum-reference", "", "the reference lamp's spectrum, a `FILE` (default: illuminant A)")
	f.Var(&o.power, "power", "electrical power in `W`, for lm/W")
	f.BoolVar(&o.json, "json", false, "print one JSON object")
	return c
}

func runSphere(ctx context.Context, s streams, o *sphereOptions) error {
	if err := allPositive([]positive{{"reference", o.reference}, {"reference-u", o.referenceU}, {"power", o.power}}); err != nil {
		return err
	}
	if !o.reference.set || len(o.lamp) == 0 || len(o.standard) == 0 {
		return badInput("a substitution needs --reference, --read and --read-reference: see \"lampassay flux sphere --help\"")
	}
	kind, err := uncertainty.ParseLamp(o.kind)
	if err != nil {
		return badInput("--lamp %q: it is unknown, white, filament, choke, electronic or narrow", o.kind)
	}
	const label = 0.06 // a box's label, as uncertainty.Sphere has it
	sub := flux.SubstitutionFor(kind, fluxPart(o.referenceU, flux.Estimated(label)), len(o.auxLamp) > 0)
	sub.Reference, sub.Lamp, sub.Standard, sub.Dark = o.reference.v, o.lamp, o.standard, o.dark.v
	sub.AuxiliaryLamp, sub.AuxiliaryStandard = o.auxLamp, o.auxStandard
	var notes []string
	if o.response != "" {
		if sub.Mismatch, notes, err = o.mismatch(s); err != nil {
			return err
		}
	} else if o.spectrum != "" || o.spectrumRef != "" {
		return badInput("spectra are for the mismatch of a light meter: give its response too, with --meter-response")
	}
	r, err := sub.Assess(ctx, uncertainty.Options{})
	if err != nil {
		return spoken(err)
	}
	r.Reasons = append(r.Reasons, notes...)
	out := fluxOutput{s: s, json: o.json, power: o.power}
	return out.print(r, "In the sphere")
}

// mismatch is that of meter and sphere, for lamp against reference lamp.
func (o *sphereOptions) mismatch(s streams) (m flux.Mismatch, notes []string, err error) {
	if o.spectrum == "" {
		return m, nil, badInput("--meter-response corrects for one lamp: give that lamp's spectrum too, with --spectrum")
	}
	nm, response, notes, err := readResponse(s, o.response)
	if err != nil {
		return m, nil, err
	}
	lamp, err := readProjected(s, o.spectrum)
	if err != nil {
		return m, nil, err
	}
	if o.spectrumRef == "" {
		m, err = flux.MismatchOf(nm, response, lamp)
		return m, notes, spoken(err)
	}
	reference, err := readProjected(s, o.spectrumRef)
	if err != nil {
		return m, nil, err
	}
	m, err = flux.MismatchBetween(nm, response, lamp, reference)
	return m, notes, spoken(err)
}

func newFluxDeclared(s streams) *cobra.Command {
	var tolerance, expanded, k, power optionalFloat
	var asJSON bool
	c := &cobra.Command{
		Use:     "declared LUMENS",
		Short:   "From a box, a data sheet or a laboratory, taken as given",
		Example: "  lampassay flux declared 806\n  lampassay flux declared 806 --expanded 32 --k 2",
		Args:    exactly(1, "a number of lumens"),
		RunE: func(c *cobra.Command, args []string) error {
			lumens, err := parseNumber(args[0])
			if err != nil || !(lumens > 0) {
				return badInput("%q is no declared flux: give a number of lumens above zero", args[0])
			}
			if err := allPositive([]positive{{"tolerance", tolerance}, {"expanded", expanded}, {"k", k}, {"power", power}}); err != nil {
				return err
			}
			d := flux.Declared{Flux: lumens, Expanded: expanded.v, K: k.v, Tolerance: tolerance.v / 100}
			if expanded.set && !k.set {
				d.K = 2
			}
			r, err := d.Assess(c.Context(), uncertainty.Options{})
			if err != nil {
				return spoken(err)
			}
			out := fluxOutput{s: s, json: asJSON, power: power}
			return out.print(r, "As declared")
		},
	}
	f := c.Flags()
	f.SortFlags = false
	f.Var(&expanded, "expanded", "the laboratory's expanded uncertainty in `lm`")
	f.Var(&k, "k", "its coverage `factor` (default 2)")
	f.Var(&tolerance, "tolerance", "what the value may be off either way in `%` (default 10, the tolerance of Regulation (EU) 2019/2020)")
	f.Var(&power, "power", "electrical power in `W`, for lm/W")
	f.BoolVar(&asJSON, "json", false, "print one JSON object")
	return c
}

func newFluxDistance(s streams) *cobra.Command {
	var size, relative, distance optionalFloat
	var asJSON bool
	c := &cobra.Command{
		Use:   "distance",
		Short: "How far away is far enough",
		Long: `Says from which distance lux times distance squared is the intensity within a
stated error, for a matt luminous disc, square or line. A lens, a reflector or a
clear filament may need many times as much: read at two distances, and where lux
times distance squared agrees it is far enough.`,
		Example: "  lampassay flux distance --size 0.3 --error 1\n  lampassay flux distance --size 1.2 --distance 3",
		Args:    exactly(0, "no file"),
		RunE: func(*cobra.Command, []string) error {
			if err := allPositive([]positive{{"size", size}, {"error", relative}, {"distance", distance}}); err != nil {
				return err
			}
			switch {
			case !size.set:
				return badInput("say how large the lamp is, with --size")
			case relative.set == distance.set:
				return badInput("give --error to learn the distance, or --distance to learn the error")
			case relative.set && !(relative.v >= 0.001 && relative.v < 100):
				return badInput("--error %g: it is from 0.001 %% to below 100 %%", relative.v)
			case distance.set && size.v > 1e6*distance.v:
				return badInput("--size %g at --distance %g: at the lamp itself there is no distance to speak of", size.v, distance.v)
			}
			return printDistances(s, size.v, relative, distance.v, asJSON)
		},
	}
	f := c.Flags()
	f.SortFlags = false
	f.Var(&size, "size", "diameter, side or length of what shines, in `m`")
	f.Var(&relative, "error", "what the intensity may be off, in `%`")
	f.Var(&distance, "distance", "a distance in `m`, to learn the error there")
	f.BoolVar(&asJSON, "json", false, "print one JSON object")
	return c
}

// farEnough is a line of the adviser.
type farEnough struct {
	Shape    string  `json:"shape"`
	Size     float64 `json:"size_m"`
	Distance float64 `json:"distance_m"`
	Error    float64 `json:"relative_error"`
}

// printDistances says for every shape what distance a relative error in per cent
// takes, or what error a distance has.
func printDistances(s streams, size float64, percent optionalFloat, distance float64, asJSON bool) error {
	var lines []farEnough
	for shape := distribution.Disc; shape <= distribution.Line; shape++ {
		d := distance
		if percent.set {
			d = distribution.LeastDistance(shape, size, percent.v/100)
		}
		lines = append(lines, farEnough{shape.String(), size, rounded(d, 10), rounded(distribution.Ratio(shape, size, d)-1, 10)})
	}
	if asJSON {
		return json.NewEncoder(s.out).Encode(lines)
	}
	v := &view{w: s.out}
	v.printf("  %s%s%s%s\n", pad("what shines", 14), padLeft("distance", 10), padLeft("over size", 12), padLeft("error", 10))
	for _, l := range lines {
		v.printf("  %s%s m%s%s %%\n", pad(l.Shape, 14), padLeft(toFigures(l.Distance, 3), 8), padLeft(toFigures(l.Distance/size, 3), 12), padLeft("−"+toFigures(-100*l.Error, 2), 8))
	}
	v.printf("\n")
	v.wrapped("", "Matt surfaces seen square on. A lens, a reflector or a clear filament may need many times as much: read at two distances, and where lux times distance squared agrees it is far enough.", "")
	return v.err
}

// toFigures writes a number above zero to so many significant figures, whole ones
// at least.
func toFigures(v float64, n int) string {
	return strconv.FormatFloat(v, 'f', max(0, n-1-int(math.Floor(math.Log10(v*(1+1e-9))))), 64)
}
