package cli

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"github.com/spf13/pflag"

	"lampassay/assay"
	"lampassay/assay/comparison"
	"lampassay/assay/quantity"
	"lampassay/assay/uncertainty"
	"lampassay/bench/ingest"
	"lampassay/publish/sheet"
)

// measuredOptions are those of the commands that hold measured figures against
// something: a claim, or other lamps.
type measuredOptions struct {
	names       []string
	flux, power numberList
	stated      []string // key=u of --u
	route       string
	meter       string
	separate    bool
	sure        uncertaintyOptions
	read        readOptions
}

func (o *measuredOptions) register(f *pflag.FlagSet) {
	f.StringSliceVar(&o.names, "name", nil, "what to call the lamps, in the order of the files")
	f.Var(&o.flux, "flux", "luminous flux in `lm` of each spectrum file, in their order")
	f.Var(&o.power, "power", "power at the mains in `W` of each spectrum file, in their order")
	f.StringArrayVar(&o.stated, "u", nil, "standard uncertainty of a quantity, as `KEY=NUMBER` in its unit or KEY=4% of its value; may be repeated")
	f.StringVar(&o.route, "route", uncertainty.Usual().Flux, "to the luminous flux: `angles|sphere|sphere-label|direction|laboratory|declared|unstated|exact`")
	f.StringVar(&o.meter, "meter", uncertainty.Usual().Power, "of the power: `plug-in|analyser|exact`")
	o.sure.register(f)
	o.read.registerReading(f)
}

// measuredLamp is one lamp's figures by their keys.
type measuredLamp struct {
	name         string
	figures      map[string]comparison.Figure
	correlations []uncertainty.Correlation
	lamp         *sheet.Lamp // nil where the file held figures, not a spectrum
	sitting      *uncertainty.Sitting
	basis        string // the classes whose usual uncertainties stand in; may be empty
}

// measure reads every file and gives each figure of the given keys its causes
// or its draws. Lamps that all come from spectra are drawn together, sharing
// what one rig shares; otherwise the law of propagation serves.
func (o *measuredOptions) measure(ctx context.Context, s streams, files []string, ids []quantity.ID) ([]measuredLamp, error) {
	if err := o.check(files); err != nil {
		return nil, err
	}
	read, err := o.read.options()
	if err != nil {
		return nil, err
	}
	var lamps []measuredLamp
	spectra := 0
	for _, name := range files {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		found, err := o.readLamps(s, name, read, spectra, ids)
		if err != nil {
			return nil, err
		}
		for _, l := range found {
			if l.lamp != nil {
				spectra++
			}
		}
		lamps = append(lamps, found...)
	}
	for _, given := range []struct {
		name string
		n    int
	}{{"flux", len(o.flux)}, {"power", len(o.power)}} {
		if given.n > spectra {
			return nil, badInput("--%s has %d values for %d spectrum files", given.name, given.n, spectra)
		}
	}
	if len(o.names) > len(lamps) {
		return nil, badInput("--name has %d names for %d lamps", len(o.names), len(lamps))
	}
	for i := range lamps {
		if i < len(o.names) {
			lamps[i].rename(o.names[i])
		}
	}
	if spectra > 0 && !o.sure.off() {
		if err := o.propagate(ctx, lamps); err != nil {
			return nil, err
		}
		if spectra == len(lamps) {
			if err := o.draw(ctx, s, lamps, ids); err != nil {
				return nil, err
			}
		}
	}
	return lamps, o.state(lamps)
}

func (o *measuredOptions) check(files []string) error {
	fromInput := 0
	for _, name := range files {
		if name == "-" {
			fromInput++
		}
	}
	if fromInput > 1 {
		return badInput("standard input can be read once: name the other lamps as files")
	}
	for _, given := range []struct {
		name   string
		values numberList
	}{{"flux", o.flux}, {"power", o.power}} {
		for _, v := range given.values {
			if err := allPositive([]positive{{given.name, optionalFloat{v, true}}}); err != nil {
				return err
			}
		}
	}
	return nil
}

func (l *measuredLamp) rename(name string) {
	l.name = name
	for key, f := range l.figures {
		f.Lamp = name
		l.figures[key] = f
	}
}

// readLamps reads a file of figures, or one spectrum of which so many came
// before it.
func (o *measuredOptions) readLamps(s streams, name string, read ingest.Options, before int, ids []quantity.ID) ([]measuredLamp, error) {
	src, err := openSource(s, name)
	if err != nil {
		return nil, err
	}
	defer src.Close()
	head := make([]byte, 64<<10)
	n, err := io.ReadFull(src.f, head)
	if err != nil && err != io.EOF && err != io.ErrUnexpectedEOF {
		return nil, err
	}
	head = bytes.TrimSpace(head[:n])
	if bytes.HasPrefix(head, []byte("{")) && (bytes.Contains(head, []byte(`"quantities"`)) || bytes.Contains(head, []byte(comparison.RecordFormat))) {
		if _, err := src.f.Seek(0, io.SeekStart); err != nil {
			return nil, err
		}
		records, err := comparison.ReadRecords(name, src.f)
		if err != nil {
			return nil, spoken(err)
		}
		return o.fromRecords(name, records)
	}
	if _, err := src.f.Seek(0, io.SeekStart); err != nil {
		return nil, err
	}
	in, err := src.read(read)
	if err != nil {
		return nil, err
	}
	file, err := in.only()
	if err != nil {
		return nil, err
	}
	lamp, err := o.fromSpectrum(file, before, ids)
	if err != nil {
		return nil, err
	}
	return []measuredLamp{*lamp}, nil
}

func (o *measuredOptions) fromRecords(name string, records []comparison.Record) ([]measuredLamp, error) {
	var lamps []measuredLamp
	for i, r := range records {
		var all []comparison.Figure
		for _, f := range r.Figures {
			all = append(all, f)
		}
		if len(r.Correlations) > 0 {
			if _, err := comparison.Covariance(all, r.Correlations); err != nil {
				return nil, badInput("%s: %s", name, plainly(err))
			}
		}
		if r.Lamp == "" {
			r.Lamp = strings.TrimSuffix(filepath.Base(name), filepath.Ext(name))
			if len(records) > 1 {
				r.Lamp += fmt.Sprintf(" %d", i+1)
			}
		}
		l := measuredLamp{figures: r.Figures, correlations: r.Correlations}
		l.rename(r.Lamp)
		if o.separate {
			for _, f := range l.figures {
				for k := range f.Causes {
					f.Causes[k].Own = true
				}
			}
		}
		lamps = append(lamps, l)
	}
	return lamps, nil
}

// fromSpectrum evaluates one spectrum; its uncertainties come later.
func (o *measuredOptions) fromSpectrum(file *ingest.File, before int, ids []quantity.ID) (*measuredLamp, error) {
	var bare assay.Given
	if before < len(o.flux) {
		bare.Flux = assay.Measured(o.flux[before])
	}
	if before < len(o.power) {
		bare.Power = assay.Measured(o.power[before])
		bare.Source.Mains = true
	}
	given, err := o.sure.given(bare)
	if err != nil {
		return nil, err
	}
	lamp, err := assayFile(file, given)
	if err != nil {
		return nil, err
	}
	l := &measuredLamp{name: lamp.Name, lamp: &lamp, figures: map[string]comparison.Figure{}}
	for _, id := range ids {
		d := quantity.Get(id)
		f := comparison.Figure{Lamp: l.name, Unit: d.Unit, Unranked: lamp.Result.Why(id)}
		if f.Unit == "1" {
			f.Unit = ""
		}
		f.Value, _ = lamp.Result.Value(id)
		l.figures[d.Key] = f
	}
	if o.sure.off() {
		return l, nil
	}
	c := o.sure.conditions
	if c == nil {
		c = &uncertainty.Conditions{Defaults: uncertainty.Usual()}
		c.Defaults.Spectrometer, c.Defaults.Flux, c.Defaults.Power = o.sure.class, o.route, o.meter
		if lamp.Emission != nil {
			c.Defaults.Lamp = uncertainty.LampOfFamily(lamp.Emission.Family.Key).String()
		}
	}
	if l.sitting, err = c.Sitting(file.Spectrum, file.Projection, bare); err != nil {
		return nil, badInput("%s: %w", file.Name, err)
	}
	l.basis = c.Basis(&l.sitting.Given)
	for _, id := range ids {
		if lamp.Result.InScope(id) {
			l.sitting.Quantities = append(l.sitting.Quantities, id)
		}
	}
	return l, nil
}
