package cli

import (
	"errors"
	"fmt"
	"path/filepath"

	"github.com/spf13/cobra"

	"lampassay/bench/ingest"
	"lampassay/bench/instrument"
	"lampassay/light/calibration"
	"lampassay/publish/figure"
)

// responseOptions are the options of calibrate response.
type responseOptions struct {
	cct, uCCT    optionalFloat
	blackbody    bool
	certificate  string
	uCertificate optionalFloat
	figure       string
	detectorOptions
}

func newCalibrateResponse(s streams) *cobra.Command {
	var o responseOptions
	c := &cobra.Command{
		Use:   "response FILE... (--cct K | --certificate FILE)",
		Short: "What it counts for equal light, from a reference lamp",
		Long: `Divides a recording of a reference lamp by the lamp's known spectrum: a tungsten
filament of stated correlated colour temperature, or a lamp with a certificate.
Everything known of the instrument so far is applied first. Several files are
several exposures of the one lamp.

The response ends where noise or stray light could rule it. Nothing is
extrapolated: an assay knows nothing outside that range either.`,
		Example: `  lampassay calibrate response halogen.csv --cct 2856 --u-cct 40 --dark dark.csv --instrument club.json
  lampassay calibrate response lamp.csv --certificate lamp-certificate.csv --u-certificate 1.5 --instrument club.json`,
		Args: atLeastOneFile,
		RunE: func(_ *cobra.Command, args []string) error { return runCalibrateResponse(s, &o, args) },
	}
	f := c.Flags()
	f.SortFlags = false
	f.Var(&o.cct, "cct", "correlated colour temperature of the filament lamp in `K`")
	f.Var(&o.uCCT, "u-cct", "its standard uncertainty in `K`")
	f.BoolVar(&o.blackbody, "blackbody", false, "take the lamp for a blackbody, not for tungsten: wider than 350–800 nm, but up to 2.6 % off")
	f.StringVar(&o.certificate, "certificate", "", "the reference lamp's spectrum, a `FILE`")
	f.Var(&o.uCertificate, "u-certificate", "relative standard uncertainty of the certificate in `%`")
	f.StringVar(&o.figure, "figure", "", "also draw the response to a `FILE`, .svg or .png")
	o.register(c)
	return c
}

// reference is the lamp that the options name.
func (o *responseOptions) reference(s streams) (ref calibration.Reference, err error) {
	err = allPositive([]positive{{"cct", o.cct}, {"u-certificate", o.uCertificate}})
	switch {
	case err != nil:
		return ref, err
	case o.cct.set == (o.certificate != ""):
		return ref, badInput("what is known of the reference lamp? Give its colour temperature with --cct, or a --certificate")
	case o.certificate != "" && (o.uCCT.set || o.blackbody):
		return ref, badInput("--u-cct and --blackbody belong to --cct: the uncertainty of a certificate is --u-certificate")
	case o.cct.set && o.uCertificate.set:
		return ref, badInput("--u-certificate belongs to --certificate: the uncertainty of a colour temperature is --u-cct")
	case o.blackbody:
		ref, err = calibration.PlanckReference(o.cct.v, o.uCCT.v)
	case o.cct.set:
		ref, err = calibration.TungstenReference(o.cct.v, o.uCCT.v)
	default:
		return o.certified(s)
	}
	if err != nil {
		return ref, spoken(err)
	}
	return ref, nil
}

// certified reads a certificate.
func (o *responseOptions) certified(s streams) (ref calibration.Reference, err error) {
	src, err := openSource(s, o.certificate)
	if err != nil {
		return ref, err
	}
	file, err := src.single(ingest.Options{})
	if err := errors.Join(err, src.Close()); err != nil {
		return ref, err
	}
	ref, err = calibration.CertificateReference(filepath.Base(o.certificate), file.Spectrum, o.uCertificate.v/100)
	if err != nil {
		return ref, spoken(err)
	}
	return ref, nil
}

func runCalibrateResponse(s streams, o *responseOptions, files []string) error {
	if err := checkPicture(o.figure); err != nil {
		return err
	}
	ref, err := o.reference(s)
	if err != nil {
		return err
	}
	in, day, m, err := o.start(s, files)
	if err != nil {
		return err
	}
	made, err := in.CalibrateResponse(m, ref)
	if err != nil {
		return spoken(err)
	}
	in.Response = dated(&o.keep, day, instrument.ResponseDays, baseNames(files, o.raw.darks), made.Response)
	record := struct {
		Instrument string                  `json:"instrument"`
		Files      []string                `json:"files"`
		Response   *calibration.Response   `json:"response"`
		Stray      float64                 `json:"stray_left_counts_per_ms"`
		StrayFrom  string                  `json:"stray_left_from"`
		Steps      []instrument.StepRecord `json:"corrections"`
	}{in.Name, in.Response.Files, &made.Response, made.StrayCounts, made.StrayFrom, instrument.Records(made.Recording.Steps)}
	exact := o.cct.set && !o.uCCT.set || o.certificate != "" && !o.uCertificate.set
	if err := emit(s.out, o.keep.json, record, func(v *view) { v.response(in, made, exact) }); err != nil {
		return err
	}
	if o.figure != "" {
		axis := made.Recording.Spectrum.Axis()
		p, err := figure.Response{
			Wavelengths: made.Nm, Values: made.Value, U: made.U, Tilt: made.Tilt, Reference: made.Reference,
			DetectorFrom: axis[0], DetectorTo: axis[len(axis)-1], Note: in.Name + ".",
		}.Picture()
		if err != nil {
			return err
		}
		if err := writePicture(s, o.figure, p); err != nil {
			return err
		}
	}
	return o.keep.save(s, in)
}

// response writes a response for reading; exact is where its reference was taken so.
func (v *view) response(in *instrument.Instrument, made *instrument.ResponseMade, exact bool) {
	r := &made.Response
	v.printf("%s: response known from %.1f nm to %.1f nm\n", in.Name, r.FromNm, r.ToNm)
	v.wrapped("", "Against "+r.Reference+".", "")
	v.printf("\n  %s%s%s%s\n", padLeft("nm", 6), padLeft("response", 11), padLeft("u", 10), padLeft("tilt", 10))
	for _, p := range made.Every(50) {
		v.printf("  %6.0f%11.4f%8.2f %%%s %%\n", p.Nm, p.Value, 100*p.U, padLeft(signedNumber(100*p.Tilt, 2), 8))
	}
	v.wrapped("", "u is from noise, stray light and certificate, at each wavelength by itself. The tilt is what one standard uncertainty of the reference's temperature does to all wavelengths together, against 560 nm.", "")
	if exact {
		v.wrapped("  ! ", instrument.TakenAsExact, "")
	}
	v.wrapped("", fmt.Sprintf("Stray light that may be left: %.3g counts per ms (%s); the range ends where the signal is less than ten times that.", made.StrayCounts, made.StrayFrom), "")
	v.steps(made.Recording.Steps)
}
