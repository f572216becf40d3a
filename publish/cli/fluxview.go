package cli

import (
	"fmt"
	"math"

	"lampassay/assay/flux"
	"lampassay/assay/quantity"
	"lampassay/light/distribution"
)

// fluxOutput prints a flux.
type fluxOutput struct {
	s      streams
	json   bool
	power  optionalFloat // W
	input  string        // file, "" where there was none
	sha256 string
}

// fluxText writes a value with its expanded uncertainty, rounded to two digits of it.
func fluxText(f flux.Figure, unit string) string {
	value, plus := quantity.Get(quantity.LuminousFlux).FormatExpanded(f.Value, 2*f.U)
	if plus != "" {
		value += " ± " + plus
	}
	return value + " " + unit
}

// print writes a result of any route.
func (o *fluxOutput) print(r *flux.Result, title string) error {
	return emit(o.s.out, o.json, o.record(r), func(v *view) { o.head(v, r, title); o.tail(v, r) })
}

// angles writes the result of a whole distribution.
func (o *fluxOutput) angles(r *flux.AnglesResult, title string) error {
	return emit(o.s.out, o.json, o.anglesRecord(r), func(v *view) {
		o.head(v, &r.Result, title)
		o.beam(v, r)
		o.tail(v, &r.Result)
	})
}

// line is a name and a figure, as every block of the view has them.
func (v *view) line(name, text string) { v.printf("  %s%s\n", pad(name, 24), text) }

func (o *fluxOutput) head(v *view, r *flux.Result, title string) {
	v.printf("%s\n%s\n\n", title, r.Route)
	v.line("luminous flux", fmt.Sprintf("%s  (k = 2)", fluxText(r.Figure, "lm")))
	place := quantity.Get(quantity.LuminousFlux)
	v.line("", fmt.Sprintf("95 %% between %s and %s lm", place.FormatBeside(r.Low, 2*r.U), place.FormatBeside(r.High, 2*r.U)))
	if o.power.set {
		v.line("per watt", fmt.Sprintf("%s at %g W, whose own uncertainty is not in it", fluxText(dividedBy(r.Figure, o.power.v), "lm/W"), o.power.v))
	}
}

// dividedBy divides a figure by an exact number.
func dividedBy(f flux.Figure, by float64) flux.Figure {
	return flux.Figure{Value: f.Value / by, U: f.U / by, Low: f.Low / by, High: f.High / by}
}

// beam writes what a whole distribution tells beside the flux.
func (o *fluxOutput) beam(v *view, r *flux.AnglesResult) {
	v.printf("\nThe light's shape\n")
	v.line("on the axis", fluxText(r.Centre, "cd"))
	if r.PeakGamma != 0 {
		v.line("largest", fmt.Sprintf("%s at γ = %g°, C = %g°", fluxText(r.Peak, "cd"), r.PeakGamma, r.PeakPlane))
	}
	angle := func(name string, b *distribution.Beam, of string) {
		switch {
		case b == nil:
			v.line(name, "none: the intensity never falls to "+of+" on every side")
		case b.Widest-b.Narrowest > 1:
			v.line(name, fmt.Sprintf("%.0f° ± %.1f° in the plane C %g°, %.0f° where it is narrowest, at %s", b.Widest, 2*r.BeamU, b.Plane, b.Narrowest, of))
		default:
			v.line(name, fmt.Sprintf("%.0f° ± %.1f°, at %s", b.Widest, 2*r.BeamU, of))
		}
	}
	angle("beam angle", r.Beam, "50 % of the intensity on the axis")
	angle("field angle", r.Field, "10 % of the intensity on the axis")
	if r.PeakGamma != 0 {
		angle("beam angle by the peak", r.HalfPeak, "50 % of the largest intensity")
	}
	v.line("within 90°", fluxText(r.Within90, "lm"))
	v.line("within 120°", fluxText(r.Within120, "lm"))
	if r.Directional {
		v.line("useful flux", fmt.Sprintf("%s, of a directional lamp in %d° [Regulation (EU) 2019/2020 Annex I]", fluxText(r.Useful, "lm"), int(r.UsefulCone)))
	} else {
		v.line("useful flux", "all of it: less than 80 % lie within 120° [Regulation (EU) 2019/2020 Annex I]")
	}
	for _, m := range spotDistances {
		lux, width := r.At(m)
		text := fluxText(flux.Figure{Value: lux, U: r.Centre.U / (m * m)}, "lx")
		if width > 0 {
			text += fmt.Sprintf(", the beam %.2g m wide", width)
		}
		v.line(fmt.Sprintf("at %g m", m), text)
	}
}

func (o *fluxOutput) tail(v *view, r *flux.Result) {
	if len(r.Budget) > 0 {
		v.printf("\nWhat the uncertainty is made of, what to improve first on top\n  %s%s%s  %s\n", pad("", 36), padLeft("u / lm", 9), padLeft("share", 8), "from")
	}
	for _, l := range r.Budget {
		if l.Share < 0.001 {
			continue
		}
		_, u := quantity.Get(quantity.LuminousFlux).FormatExpanded(l.Contribution, l.Contribution)
		v.printf("  %s%s%6.1f %%  %s\n", pad(l.Name, 36), padLeft(u, 9), 100*l.Share, l.Source)
	}
	if len(r.Reasons) > 0 {
		v.printf("\nHow it was found\n")
	}
	for _, s := range r.Reasons {
		v.wrapped("  · ", s, "")
	}
	if len(r.Cautions) > 0 {
		v.printf("\nBefore you rely on this\n")
	}
	for _, s := range r.Cautions {
		v.wrapped("  ! ", s, "")
	}
}

// The record of a flux: figures as everywhere, with u and a 95 % interval.
type (
	fluxFigureJSON struct {
		Value    float64    `json:"value"`
		Unit     string     `json:"unit"`
		U        float64    `json:"u"`
		Interval [2]float64 `json:"interval_95"`
	}
	fluxLineJSON struct {
		Name         string  `json:"input"`
		Distribution string  `json:"distribution"`
		Contribution float64 `json:"u"`
		Share        float64 `json:"share"`
		Source       string  `json:"source"`
	}
	fluxJSON struct {
		Input    map[string]any  `json:"input,omitempty"`
		Route    string          `json:"route"`
		Flux     fluxFigureJSON  `json:"luminous_flux"`
		Efficacy *fluxFigureJSON `json:"luminous_efficacy,omitempty"`
		Power    *float64        `json:"power_w,omitempty"`
		Shape    *fluxShapeJSON  `json:"shape,omitempty"`
		Budget   []fluxLineJSON  `json:"budget"`
		Reasons  []string        `json:"reasons"`
		Cautions []string        `json:"cautions"`
	}
	fluxShapeJSON struct {
		Centre       fluxFigureJSON `json:"centre_beam_intensity"`
		Peak         fluxFigureJSON `json:"peak_intensity"`
		PeakGamma    float64        `json:"peak_gamma_deg"`
		PeakPlane    float64        `json:"peak_plane_deg"`
		Beam         *fluxBeamJSON  `json:"beam_angle"`
		Field        *fluxBeamJSON  `json:"field_angle"`
		HalfPeak     *fluxBeamJSON  `json:"beam_angle_of_peak"`
		Within90     fluxFigureJSON `json:"flux_within_90"`
		Within120    fluxFigureJSON `json:"flux_within_120"`
		Useful       fluxFigureJSON `json:"useful_flux"`
		UsefulCone   float64        `json:"useful_cone_deg"` // 360 for all of it
		Directional  bool           `json:"directional"`
		AssumedShare float64        `json:"assumed_share"`
		Symmetry     string         `json:"symmetry"`
	}
	fluxBeamJSON struct {
		Widest    float64 `json:"value"`
		Unit      string  `json:"unit"`
		U         float64 `json:"u"`
		Plane     float64 `json:"plane_deg"`
		Narrowest float64 `json:"narrowest"`
	}
)

func fluxFigureRecord(f flux.Figure, unit string) fluxFigureJSON {
	return fluxFigureJSON{rounded(f.Value, 10), unit, rounded(f.U, 5), [2]float64{rounded(f.Low, 5), rounded(f.High, 5)}}
}

func (o *fluxOutput) record(r *flux.Result) *fluxJSON {
	j := &fluxJSON{Route: r.Route, Flux: fluxFigureRecord(r.Figure, "lm"), Budget: []fluxLineJSON{}, Reasons: listed(r.Reasons), Cautions: listed(r.Cautions)}
	if o.input != "" {
		j.Input = map[string]any{"file": o.input, "sha256": o.sha256}
	}
	if o.power.set {
		e := fluxFigureRecord(dividedBy(r.Figure, o.power.v), "lm/W")
		j.Efficacy, j.Power = &e, &o.power.v
	}
	for _, l := range r.Budget {
		j.Budget = append(j.Budget, fluxLineJSON{l.Name, l.Distribution, rounded(l.Contribution, 5), rounded(l.Share, 5), l.Source})
	}
	return j
}

func (o *fluxOutput) anglesRecord(r *flux.AnglesResult) *fluxJSON {
	j := o.record(&r.Result)
	beam := func(b *distribution.Beam) *fluxBeamJSON {
		if b == nil {
			return nil
		}
		return &fluxBeamJSON{rounded(b.Widest, 10), "°", rounded(r.BeamU, 5), b.Plane, rounded(b.Narrowest, 10)}
	}
	j.Shape = &fluxShapeJSON{
		Centre: fluxFigureRecord(r.Centre, "cd"), Peak: fluxFigureRecord(r.Peak, "cd"), PeakGamma: r.PeakGamma, PeakPlane: r.PeakPlane,
		Beam: beam(r.Beam), Field: beam(r.Field), HalfPeak: beam(r.HalfPeak),
		Within90: fluxFigureRecord(r.Within90, "lm"), Within120: fluxFigureRecord(r.Within120, "lm"), Useful: fluxFigureRecord(r.Useful, "lm"), UsefulCone: r.UsefulCone,
		Directional: r.Directional, AssumedShare: rounded(r.Distribution.Assumed()/r.Distribution.Flux(), 5), Symmetry: r.Distribution.Symmetry().String(),
	}
	if j.Shape.UsefulCone == 0 {
		j.Shape.UsefulCone = 360
	}
	if math.IsNaN(j.Shape.AssumedShare) {
		j.Shape.AssumedShare = 0
	}
	return j
}
