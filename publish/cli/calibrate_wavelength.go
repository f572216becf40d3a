package cli

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"lampassay/bench/instrument"
	"lampassay/light/calibration"
	"lampassay/publish/figure"
)

// wavelengthOptions are the options of calibrate wavelength.
type wavelengthOptions struct {
	lamps     []string
	order     string
	nominal   string
	pairs     []string
	name      string
	serial    string
	fullScale optionalFloat
	blind     optionalFloat
	backwards bool
	accept    bool
	figure    string
	raw       rawOptions
	keep      keepOptions
}

func newCalibrateWavelength(s streams) *cobra.Command {
	var o wavelengthOptions
	c := &cobra.Command{
		Use:   "wavelength FILE... --lamp NAMES",
		Short: "The wavelength of every pixel, from line lamps",
		Long: `Finds the peaks of line lamps recorded in raw counts, pairs them with the lamps'
lines by search, and chooses the law of dispersion that foresees lines it has not
seen. It prints every pairing with its residual, and says whether it is confident.

Files have a row for each pixel: a pixel number or the wavelengths the maker gave
it, which are not used, and a count. Several columns are several exposures.

If you are sure which line a peak is, say so with --pair: the search is then for
the rest. One pair often settles which of two pairings is right, and three make an
axis where the search finds none. A pair that contradicts the rest is kept and
named.

The exit code is 1, and nothing is written, where the pairing is not certain.

Lamps: ` + strings.Join(calibration.LampNames(), ", ") + `.
Of a fluorescent tube only the mercury lines count.`,
		Example: `  lampassay calibrate wavelength hgar.csv --lamp mercury-argon --dark dark.csv --instrument club.json
  lampassay calibrate wavelength hg.csv ne.csv --lamp mercury,neon --figure residuals.png
  lampassay calibrate wavelength hg.csv ne.csv --lamp mercury,neon --pair hg.csv:812=546.075 --pair ne.csv:1187=640.225`,
		Args: atLeastOneFile,
		RunE: func(_ *cobra.Command, args []string) error { return runCalibrateWavelength(s, &o, args) },
	}
	f := c.Flags()
	f.SortFlags = false
	f.StringSliceVar(&o.lamps, "lamp", nil, "the `lamps` in the files' order; one name serves all files")
	f.StringVar(&o.order, "order", "auto", "law of dispersion: `auto|1|2|3|4|grating`, a polynomial's order or the grating equation")
	f.StringVar(&o.nominal, "nominal", "", "the range the instrument is sold for, `350-1000` nm, if the search needs help")
	f.StringArrayVar(&o.pairs, "pair", nil, "a peak and the line it is, `PIXEL=NM`; of several files FILE:PIXEL=NM; can be repeated")
	f.StringVar(&o.name, "name", "", "what to call a new instrument (default: its file's name)")
	f.StringVar(&o.serial, "serial", "", "its serial `number`")
	f.Var(&o.fullScale, "full-scale", "the `counts` at which the detector saturates")
	f.Var(&o.blind, "blind-below", "wavelength in `nm` below which no light can reach the detector")
	f.BoolVar(&o.backwards, "backwards", false, "the first pixel has the longest wavelength")
	f.BoolVar(&o.accept, "accept", false, "keep the result although it is not certain")
	f.StringVar(&o.figure, "figure", "", "also draw residuals and bandwidth to a `FILE`, .svg or .png")
	o.keep.register(f, "begun if it is not there, else updated")
	o.raw.register(f)
	o.raw.read.register(f)
	return c
}

// expected reads what the options say of the instrument's axis.
func (o *wavelengthOptions) expected() (e calibration.Expected, err error) {
	laws := calibration.Laws()
	orders := []string{"1", "2", "3", "4", "grating"}
	if o.order != "auto" {
		i := slices.Index(orders, o.order)
		if i < 0 {
			return e, badInput("--order %q: it is auto, 1, 2, 3, 4 or grating", o.order)
		}
		e.Law = laws[i]
	}
	if o.nominal != "" {
		n, err := fmt.Sscanf(strings.Replace(o.nominal, "–", "-", 1), "%g-%g", &e.FromNm, &e.ToNm)
		if err != nil || n != 2 || !(e.FromNm > 0 && e.ToNm > e.FromNm) {
			return e, badInput("--nominal %q: write the range in nm like 350-1000", o.nominal)
		}
	}
	return e, nil
}

// lampsOf gives each file its lamp.
func (o *wavelengthOptions) lampsOf(files []string) ([]calibration.Lamp, error) {
	if len(o.lamps) == 0 {
		return nil, badInput("which lamp was recorded? Name it with --lamp: %s", strings.Join(calibration.LampNames(), ", "))
	}
	if len(o.lamps) != 1 && len(o.lamps) != len(files) {
		return nil, badInput("%d lamps are named for %d files: name one for each, or one for all", len(o.lamps), len(files))
	}
	var lamps []calibration.Lamp
	for i := range files {
		lamp, err := calibration.LampByName(o.lamps[min(i, len(o.lamps)-1)])
		if err != nil {
			return nil, spoken(err)
		}
		lamps = append(lamps, lamp)
	}
	return lamps, nil
}

// instrument loads the instrument to be calibrated, or begins one.
func (o *wavelengthOptions) instrument() (in *instrument.Instrument, err error) {
	switch name := o.keep.instrument; {
	case name != "" && exists(name):
		if in, err = loadInstrument(name); err != nil {
			return nil, err
		}
	default:
		in = &instrument.Instrument{Format: instrument.Format, Version: instrument.Version, Name: o.name}
		if in.Name == "" {
			in.Name = "spectrometer"
			if keep := o.keep.out + name; keep != "" {
				in.Name = strings.TrimSuffix(filepath.Base(keep), filepath.Ext(keep))
			}
		}
	}
	if o.name != "" {
		in.Name = o.name
	}
	if o.serial != "" {
		in.Serial = o.serial
	}
	if o.fullScale.set {
		in.FullScale = o.fullScale.v
	}
	if o.blind.set {
		in.BlindBelowNm = o.blind.v
	}
	in.Backwards = in.Backwards || o.backwards
	return in, nil
}

func runCalibrateWavelength(s streams, o *wavelengthOptions, files []string) error {
	if err := errors.Join(allPositive([]positive{{"full-scale", o.fullScale}, {"blind-below", o.blind}}), checkPicture(o.figure)); err != nil {
		return err
	}
	expected, err := o.expected()
	if err != nil {
		return err
	}
	day, err := o.keep.day()
	if err != nil {
		return err
	}
	lamps, err := o.lampsOf(files)
	if err != nil {
		return err
	}
	in, err := o.instrument()
	if err != nil {
		return err
	}
	if expected.Given, err = o.given(files); err != nil {
		return err
	}
	var recordings []calibration.Recording
	var own []float64 // the axis that the first file gives itself
	for i, name := range files {
		m, first, err := o.raw.measurement(s, []string{name})
		if err != nil {
			return err
		}
		if i == 0 {
			own = first.axis()
			if in.Wavelength == nil {
				in.Pixels = len(first.frames[0].Counts)
			}
		}
		untimed(&m)
		if err := timed(&m); err != nil {
			return err
		}
		counts, clipped, err := in.Counts(m)
		if err != nil {
			return badInput("%s: %w", filepath.Base(name), spoken(err))
		}
		recordings = append(recordings, calibration.Recording{Name: filepath.Base(name), Lamp: lamps[i], Counts: counts, Clipped: clipped})
	}
	w, err := calibration.CalibrateWavelength(recordings, expected)
	switch {
	case errors.Is(err, calibration.ErrBackwards):
		seen, _, _ := strings.Cut(spoken(err).Error(), ";")
		if in.Backwards {
			return badInput("%s: the instrument is said to run backwards, and these files run forwards", seen)
		}
		return badInput("%s: say --backwards", seen)
	case err != nil:
		return spoken(err)
	}
	in.Wavelength = dated(&o.keep, day, instrument.WavelengthDays, baseNames(files, o.raw.darks), *w)
	in.Shift = nil // it belonged to the axis before
	if err := o.report(s, in, w, calibration.CheckAxis(own, w, nil)); err != nil {
		return err
	}
	if o.figure != "" {
		p, err := residualPicture(in.Name, w)
		if err != nil {
			return err
		}
		if err := writePicture(s, o.figure, p); err != nil {
			return err
		}
	}
	if !w.Confident && !o.accept {
		fmt.Fprintln(s.err, "lampassay: nothing was kept, since the pairing is not certain: look at the table, record more lines, or say --accept")
		return errNo
	}
	if in.Response != nil {
		fmt.Fprintln(s.err, "lampassay: the response was measured on the axis before: if the instrument was opened or moved, calibrate it anew")
	}
	return o.keep.save(s, in)
}

func (o *wavelengthOptions) report(s streams, in *instrument.Instrument, w *calibration.Wavelength, axis []calibration.Finding) error {
	out := bufio.NewWriter(s.out)
	var err error
	if o.keep.json {
		err = json.NewEncoder(out).Encode(struct {
			Instrument string                  `json:"instrument"`
			Pixels     int                     `json:"pixels"`
			Files      []string                `json:"files"`
			Wavelength *calibration.Wavelength `json:"wavelength"`
			UPx        float64                 `json:"u_px"`
		}{in.Name, in.Pixels, in.Wavelength.Files, w, w.UNm / w.Dispersion.Slope(float64(in.Pixels-1)/2)})
	} else {
		err = wavelengthView(out, in, w, axis)
	}
	if err != nil {
		return err
	}
	return out.Flush()
}

// wavelengthView writes a wavelength calibration for reading: the answer, the
// table, what it was chosen from, what it is good for.
func wavelengthView(out io.Writer, in *instrument.Instrument, w *calibration.Wavelength, axis []calibration.Finding) error {
	v := &view{w: out}
	d := &w.Dispersion
	last := float64(in.Pixels - 1)
	v.printf("%s: %d pixels, %.1f–%.1f nm, %s\n", in.Name, in.Pixels, d.At(0), d.At(last), w.Law)
	if w.Confident {
		v.wrapped("", fmt.Sprintf("Confident. The pairing explains %.0f %% of the peaks and %.0f %% of the lamps' lines, weighted by their strength; "+
			"its log-likelihood is %.1f over chance and %.1f over the next best pairing.", 100*w.PeaksExplained, 100*w.LinesExplained, w.Score, w.Margin), "")
	} else {
		v.wrapped("", fmt.Sprintf("Not confident. The pairing explains %.0f %% of the peaks and %.0f %% of the lamps' lines; "+
			"its log-likelihood is %.1f over chance and %.1f over the next best pairing.", 100*w.PeaksExplained, 100*w.LinesExplained, w.Score, w.Margin), "")
		for _, doubt := range w.Doubts {
			v.wrapped("  ! ", sentence(doubt), "")
		}
	}
	v.anchorLines(w.Lines)
	if len(w.Unexplained) > 0 {
		var at []string
		for _, nm := range w.Unexplained[:min(len(w.Unexplained), 8)] {
			at = append(at, fmt.Sprintf("%.1f", nm))
		}
		v.wrapped("  ", "Tall peaks at no line of the lamps: "+strings.Join(at, ", ")+" nm.", "")
	}
	v.printf("\nThe law, by its error at lines left out of the fit one at a time\n")
	for _, l := range w.Laws {
		taken := ""
		if l.Law == w.Law {
			taken = "  taken"
		}
		v.printf("  %s%9.3f nm%s\n", pad(l.Law, 33), l.HeldOutNm, taken)
	}
	v.printf("\nWhat it is good for\n")
	v.wrapped("  ", fmt.Sprintf("Between %.1f nm and %.1f nm the axis is known to %.3f nm (standard uncertainty, %.2f pixels at the middle); beyond these lines it is extrapolated.",
		w.FromNm, w.ToNm, w.UNm, w.UNm/d.Slope(last/2)), "")
	if b := w.Bandwidth; b.Lines > 0 {
		v.wrapped("  ", fmt.Sprintf("A narrow line is %.2f nm wide at half height at %.0f nm, and %.2f nm and %.2f nm at the outermost lines (from %d lines that stand alone).",
			b.At((w.FromNm+w.ToNm)/2), (w.FromNm+w.ToNm)/2, b.At(w.FromNm), b.At(w.ToNm), b.Lines), "")
	}
	v.wrapped("  ", fmt.Sprintf("Trusted for %d days from %s. Check the shift each day with \"lampassay calibrate shift\".",
		in.Wavelength.Days, in.Wavelength.Made.Format("2006-01-02")), "")
	for _, f := range axis {
		v.wrapped("  ! ", sentence(f.Text), "")
	}
	return v.err
}

// anchorLines writes the residual table, a block for each recording.
func (v *view) anchorLines(lines []calibration.AnchorLine) {
	var recordings []string
	for _, l := range lines {
		if !slices.Contains(recordings, l.Recording) {
			recordings = append(recordings, l.Recording)
		}
	}
	for _, recording := range recordings {
		v.printf("\n%s%s%s%s%s%s%s\n", pad(recording, 34), padLeft("pixel", 11), padLeft("± nm", 9),
			padLeft("residual nm", 13), padLeft("pixel", 8), padLeft("held out nm", 13), padLeft("width nm", 10))
		for _, l := range lines {
			if l.Recording != recording {
				continue
			}
			held, u := signedNumber(l.HeldOutNm, 3), fmt.Sprintf("%.3f", l.UNm)
			if !l.Used {
				held = "not used"
			}
			if l.UNm < 0.0005 {
				u = "<0.001"
			}
			v.printf("  %s%10.2f%s%s%s%s%10.2f\n", pad(l.Line, 33), l.Pixel, padLeft(u, 9),
				padLeft(signedNumber(l.ResidualNm, 3), 13), padLeft(signedNumber(l.ResidualPx, 2), 8), padLeft(held, 13), l.FWHMNm)
			switch {
			case l.Given:
				v.wrapped("    ", "given", "")
			case l.Why != "":
				v.wrapped("    ", l.Why, "")
			}
		}
	}
}

// signedNumber writes a number with its sign, a true minus, and zero without.
func signedNumber(x float64, decimals int) string {
	text := fmt.Sprintf("%+.*f", decimals, x)
	if !strings.ContainsAny(text, "123456789") {
		return text[1:]
	}
	return strings.Replace(text, "-", "−", 1)
}

// residualPicture is the picture of a wavelength calibration.
func residualPicture(name string, w *calibration.Wavelength) (*figure.Picture, error) {
	r := figure.Residuals{
		Law: w.Law, RMS: w.ResidualNm, Confident: w.Confident,
		HalfPixel: func(nm float64) float64 { return w.Dispersion.Slope(w.Dispersion.PixelAt(nm)) / 2 },
		Note:      name + ".",
	}
	for _, l := range w.Lines {
		emitter, _, _ := strings.Cut(l.Line, " ")
		r.Lines = append(r.Lines, figure.ResidualLine{Nm: l.Nm, Name: l.Line, Emitter: emitter, Residual: l.ResidualNm, Expanded: 2 * l.UNm, FWHM: l.FWHMNm, Used: l.Used})
	}
	if b := w.Bandwidth; b.Lines > 0 {
		r.Width = b.At
	}
	return r.Picture()
}
