package cli

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"lampassay/assay/flux"
	"lampassay/bench/ingest/photometric"
	"lampassay/light/distribution"
	"lampassay/publish/figure"
)

// lightFile is what a file of light over directions says beside its table.
type lightFile struct {
	base, sha256 string
	notes        []string
	watts        float64
	size         [3]float64 // width, length, height as LM-63 codes them, m
}

// readings reads a file of light over directions.
func (o *anglesOptions) readings(s streams, name string) (*flux.Angles, *lightFile, error) {
	a := &flux.Angles{DistanceU: fluxPartIn(o.distanceU, usualDistanceU), AngleU: fluxPartIn(o.angleU, usualAngleU), Size: o.size.v}
	var err error
	if a.Symmetry, err = distribution.ParseSymmetry(o.symmetry); err != nil {
		return nil, nil, badInput("--symmetry %q: it is none, bilateral, quadrant or rotational", o.symmetry)
	}
	if a.Beyond, err = distribution.ParseBeyond(o.beyond); err != nil {
		return nil, nil, badInput("--beyond %q: it is whole, dark, hold or mirror", o.beyond)
	}
	if a.Shape, err = distribution.ParseShape(o.shape); err != nil {
		return nil, nil, badInput("--lamp-shape %q: it is disc, square or line", o.shape)
	}
	var meterNotes []string
	if a.Meter, meterNotes, err = o.meter.meter(s); err != nil {
		return nil, nil, err
	}
	src, err := openSource(s, name)
	if err != nil {
		return nil, nil, err
	}
	defer src.Close()
	of := &lightFile{base: filepath.Base(src.name), notes: meterNotes}
	if isLM63(src.f, name) {
		err = o.fromLM63(a, of, src)
	} else {
		err = o.fromTable(a, of, src)
	}
	if err == nil && a.Candela {
		if o.meter.response != "" {
			return nil, nil, badInput("--meter-response corrects readings in lux, and %s is in candela", of.base)
		}
		table := flux.TableMeter()
		table.Scale = fluxPart(o.meter.scaleU, table.Scale)
		a.Meter = table
	}
	return a, of, err
}

// isLM63 goes by what the file holds: every LM-63 file has a line TILT=, and a
// table has none.
func isLM63(f io.ReadSeeker, name string) bool {
	head := make([]byte, 64<<10)
	n, _ := io.ReadFull(f, head)
	_, err := f.Seek(0, io.SeekStart)
	return err == nil && (strings.EqualFold(filepath.Ext(name), ".ies") || bytes.Contains(bytes.ToUpper(head[:n]), []byte("\nTILT")))
}

// fromTable takes a bench's own table.
func (o *anglesOptions) fromTable(a *flux.Angles, of *lightFile, src *source) error {
	t, err := photometric.ReadReadings(src.name, src.f)
	if err != nil {
		return err
	}
	of.sha256, a.Candela = t.SHA256, t.Candela
	switch {
	case t.Candela && o.distance.set:
		return badInput("--distance %g: %s is in candela, which do not depend on it", o.distance.v, of.base)
	case t.Distances && o.distance.set:
		return badInput("--distance %g: %s has a column of distances, leave one out", o.distance.v, of.base)
	case !t.Candela && !t.Distances && !o.distance.set:
		return badInput("%s holds lux and no distance: add a column headed distance (m), or say --distance", of.base)
	}
	for _, r := range t.Rows {
		d := r.Distance
		if o.distance.set {
			d = o.distance.v
		}
		a.Readings = append(a.Readings, flux.Reading{Gamma: r.Gamma, Plane: r.Plane, Value: r.Value, Ambient: r.Ambient, Distance: d})
	}
	return nil
}

// fromLM63 takes an LM-63 file, which states its symmetry itself and has no light
// where it has no vertical angles.
func (o *anglesOptions) fromLM63(a *flux.Angles, of *lightFile, src *source) error {
	f, err := photometric.Read(src.name, src.f)
	if err != nil {
		return err
	}
	planes, candela, symmetry, ok := f.Sphere()
	if !ok {
		return badInput("%s is in angles of type %s: type C is what flux is found from", of.base, f.Goniometry)
	}
	of.sha256, of.watts, of.size = f.SHA256, f.Watts, [3]float64{f.Width, f.Length, f.Height}
	of.notes = append(of.notes, f.Warnings...)
	a.Candela = true
	if a.Symmetry, err = distribution.ParseSymmetry(string(symmetry)); err != nil {
		return err
	}
	if a.Beyond == distribution.Whole && (f.Vertical[0] != 0 || f.Vertical[len(f.Vertical)-1] != 180) {
		a.Beyond = distribution.Dark
	}
	for i, c := range planes {
		for j, g := range f.Vertical {
			a.Readings = append(a.Readings, flux.Reading{Gamma: g, Plane: c, Value: candela[i][j]})
		}
	}
	if f.Watts > 0 && !o.power.set {
		o.power = optionalFloat{f.Watts, true}
	}
	if !f.Absolute {
		of.notes = append(of.notes, fmt.Sprintf("The file rates its lamps at %d × %g lm; the flux here is that of its intensities.", f.Lamps, f.Lumens))
	}
	return nil
}

// write writes the LM-63 file and the figure, both or neither but for a disk that
// fails.
func (o *anglesOptions) write(s streams, a *flux.Angles, r *flux.AnglesResult, of *lightFile) error {
	var ies bytes.Buffer
	if o.ies != "" {
		if _, err := os.Stat(filepath.Dir(o.ies)); err != nil { // before the figure stands alone
			return err
		}
		f, err := o.lm63(a, r, of)
		if err != nil {
			return err
		}
		if err := photometric.Write(&ies, f); err != nil {
			return spoken(err)
		}
	}
	if o.figure != "" {
		p, err := polar(r, o.name).Picture()
		if err != nil {
			return spoken(err)
		}
		if err := writePicture(s, o.figure, p); err != nil {
			return err
		}
	}
	if o.ies != "" {
		if err := createFile(o.ies, func(w io.Writer) error { _, err := w.Write(ies.Bytes()); return err }); err != nil {
			return err
		}
		fmt.Fprintf(s.err, "lampassay: wrote %s\n", o.ies)
	}
	return nil
}

// lm63 makes the LM-63 file of a distribution.
func (o *anglesOptions) lm63(a *flux.Angles, r *flux.AnglesResult, of *lightFile) (*photometric.File, error) {
	f := &photometric.File{
		Lamps: 1, Lumens: -1, Absolute: true, Watts: o.power.v, Goniometry: photometric.TypeC,
		Width: of.size[0], Length: of.size[1], Height: of.size[2],
		Keywords: []photometric.Keyword{
			{Name: "TEST", Text: "bench readings, SHA-256 " + of.sha256[:16]}, {Name: "TESTLAB", Text: "not accredited"}, {Name: "ISSUEDATE", Text: "not stated"},
			{Name: "MANUFAC", Text: "not stated"}, {Name: "LAMP", Text: o.name},
			{Name: "OTHER", Text: strings.Replace(fluxText(r.Figure, "lm"), "±", "+/-", 1) + " (k = 2); symmetry stated: " + a.Symmetry.String() + "; angles not read: " + a.Beyond.String()},
		},
	}
	switch o.iesEdition {
	case "2002":
		f.Edition = photometric.LM63of2002
	case "2019":
		f.Edition, f.Generation = photometric.LM63of2019, 1 // a laboratory without accreditation
	default:
		return nil, badInput("--ies-edition %q: 2002 and 2019 are written", o.iesEdition)
	}
	if o.size.set && of.size == [3]float64{} {
		switch a.Shape { // LM-63 codes a circle by negative, a rectangle by positive sizes
		case distribution.Disc:
			f.Width, f.Length = -a.Size, -a.Size
		case distribution.Square:
			f.Width, f.Length = a.Size, a.Size
		}
	}
	d := r.Distribution
	from, to := 0, len(d.Gamma())
	if low, high := d.Measured(); a.Beyond == distribution.Dark && (low == 0 || low == 90) && (high == 90 || high == 180) {
		from, to = slices.Index(d.Gamma(), low), slices.Index(d.Gamma(), high)+1 // where a file ends it is dark
	}
	f.Vertical, f.Horizontal = d.Gamma()[from:to], d.Planes()
	for i := range f.Horizontal {
		f.Candela = append(f.Candela, fiveDigits(d.Candela(i)[from:to]))
	}
	if a.Symmetry == distribution.None { // the standard closes the circle, and begins it at 0°
		if f.Horizontal[0] != 0 {
			return nil, badInput("LM-63 begins its half-planes at 0°, and these begin at %g°: count the planes from another", f.Horizontal[0])
		}
		f.Horizontal = append(append([]float64{}, f.Horizontal...), 360)
		f.Candela = append(f.Candela, f.Candela[0])
	}
	return f, nil
}

// fiveDigits rounds intensities to what is far below any bench's uncertainty.
func fiveDigits(values []float64) []float64 {
	out := make([]float64, len(values))
	for i, v := range values {
		out[i] = rounded(v, 5)
	}
	return out
}

// polar is the picture of a distribution: the plane from 0° to 180°, and the one
// across it unless the lamp is round.
func polar(r *flux.AnglesResult, name string) figure.Polar {
	d := r.Distribution
	curve := func(c float64) figure.PolarCurve {
		p := figure.PolarCurve{Name: fmt.Sprintf("C %g° – C %g°", c+180, c), Gamma: d.Gamma()}
		for _, g := range p.Gamma {
			p.Right, p.Left = append(p.Right, d.At(g, c)), append(p.Left, d.At(g, c+180))
		}
		return p
	}
	p := figure.Polar{Curves: []figure.PolarCurve{curve(0)}, Note: fmt.Sprintf("%s: %s. Angles γ from the axis, which points down.", name, fluxText(r.Figure, "lm"))}
	if d.Symmetry() != distribution.Rotational {
		p.Curves = append(p.Curves, curve(90))
	}
	if r.Beam != nil && r.Beam.Widest < 180 {
		p.Beam = r.Beam.Widest
	}
	for _, m := range spotDistances {
		lux, width := r.At(m)
		p.Spots = append(p.Spots, figure.PolarSpot{Distance: m, Lux: math.Max(lux, 0), Width: width})
	}
	return p
}

// spotDistances are those at which a beam is told in lux, m.
var spotDistances = []float64{1, 2, 3}
