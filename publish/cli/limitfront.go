package cli

import (
	"context"
	"fmt"
	"math"
	"strings"

	"lampassay/light/limits"
	"lampassay/publish/figure"
)

// What a front and a map look at.
var (
	frontValues = []float64{50, 55, 60, 65, 70, 75, 80, 85, 90, 92, 95}
	mapKelvin   = []float64{2700, 2900, 3100, 3300, 3500, 3700, 3900, 4100, 4300, 4500, 4700, 4900, 5100, 5300, 5500, 5700, 5900, 6100, 6300, 6500}
	mapRa       = []float64{70, 75, 80, 82, 85, 87, 90, 92, 94, 95}
	mapShown    = []float64{70, 80, 90, 95} // as columns and curves
)

// limitPointJSON is one point of a front or a map; an efficacy that cannot be
// had is null, and why says the reason.
type limitPointJSON struct {
	CCT      float64  `json:"cct_k"`
	Demand   string   `json:"condition"`
	Value    float64  `json:"value"`
	Efficacy *float64 `json:"efficacy_lm_per_w"`
	Why      string   `json:"why"`
}

func pointsRecord(points []limits.Point) []limitPointJSON {
	out := []limitPointJSON{}
	for _, p := range points {
		j := limitPointJSON{CCT: p.CCT, Demand: p.Demand.String(), Value: p.Demand.Value}
		if p.Err != nil {
			j.Why = plainly(p.Err)
		} else {
			j.Efficacy, j.CCT = figures(p.Optimum.Efficacy, 10), rounded(p.Optimum.CCT, 10)
		}
		out = append(out, j)
	}
	return out
}

// runFront shows what one measure costs at a colour.
func runFront(ctx context.Context, s streams, o *limitOptions, solver *limits.Solver, c limits.Conditions, lamp *lampAsked) error {
	measure := limits.Ra
	switch o.front {
	case "ra":
	case "rf":
		measure = limits.Rf
	default:
		return badInput("--front %s: it is ra or rf", o.front)
	}
	if c.Colour.CCT.From == 0 && c.Colour.X == 0 {
		return badInput("--front needs a colour: give --cct or --xy")
	}
	points, err := solver.Front(ctx, c, measure, frontValues)
	if err != nil {
		return limitError(s, err)
	}
	if o.figure != "" {
		fig := figure.Limits{Quantity: measure.String(), Electric: len(c.Emitters) > 0, Curves: []figure.LimitCurve{{}}, Note: madeOf(&c)}
		for _, p := range points {
			if p.Err == nil {
				curve := &fig.Curves[0]
				curve.X, curve.Y = append(curve.X, p.Demand.Value), append(curve.Y, p.Optimum.Efficacy)
			}
		}
		if lamp != nil && measure == limits.Ra && !math.IsNaN(lamp.ra) {
			fig.Lamps = []figure.LimitLamp{{Name: lamp.name, X: lamp.ra, Y: lamp.ler}}
		}
		if err := drawLimits(s, o.figure, fig); err != nil {
			return err
		}
	}
	return emit(s.out, o.json, pointsRecord(points), func(v *view) { v.front(points, &c) })
}

func (v *view) front(points []limits.Point, c *limits.Conditions) {
	v.printf("The most lumens per watt%s\n\n", askedFor(c))
	v.printf("  %s%s%s\n", pad("at least", 12), padLeft("lm/W", 8), padLeft("one more point", 18))
	for _, p := range points {
		name := pad(fmt.Sprintf("%v %g", p.Demand.Measure, p.Demand.Value), 12)
		if p.Err != nil {
			v.wrapped("  "+name, plainly(p.Err), "")
			continue
		}
		price := "free"
		for _, b := range p.Optimum.Binding {
			if b.Demand == p.Demand {
				price = fmt.Sprintf("−%.2f", b.Price)
			}
		}
		v.printf("  %s%8.1f%s\n", name, p.Optimum.Efficacy, padLeft(price, 18))
	}
}

// runMap shows the limits over temperature and Ra.
func runMap(ctx context.Context, s streams, o *limitOptions, solver *limits.Solver, c limits.Conditions) error {
	if c.Colour.CCT.From > 0 || c.Colour.X > 0 || o.ra.set {
		return badInput("--map runs over the temperatures and Ra: leave --cct, --xy and --ra out")
	}
	var err error
	if c.Colour.Duv.From, c.Colour.Duv.To, err = closedSpan("duv", o.duv); err != nil {
		return err
	}
	c.Restarts = 0 // two hundred points bear each other out
	points, err := solver.Map(ctx, c, mapKelvin, limits.Ra, mapRa)
	if err != nil {
		return limitError(s, err)
	}
	if o.figure != "" {
		fig := figure.Limits{Quantity: "CCT", Unit: "K", Electric: len(c.Emitters) > 0, Note: madeOf(&c)}
		for _, ra := range mapShown {
			curve := figure.LimitCurve{Name: fmt.Sprintf("Ra %g", ra)}
			for _, p := range points {
				if p.Err == nil && p.Demand.Value == ra {
					curve.X, curve.Y = append(curve.X, p.CCT), append(curve.Y, p.Optimum.Efficacy)
				}
			}
			if len(curve.X) > 0 {
				fig.Curves = append(fig.Curves, curve)
			}
		}
		if err := drawLimits(s, o.figure, fig); err != nil {
			return err
		}
	}
	return emit(s.out, o.json, pointsRecord(points), func(v *view) { v.limitMap(points, &c) })
}

func (v *view) limitMap(points []limits.Point, c *limits.Conditions) {
	v.printf("The most lumens per watt%s\n\n", strings.TrimSuffix(askedFor(c), " that any light has"))
	v.printf("  %s", pad("K", 8))
	for _, ra := range mapRa {
		v.printf("%s", padLeft(fmt.Sprintf("Ra %g", ra), 8))
	}
	for i, p := range points {
		if i%len(mapRa) == 0 {
			v.printf("\n  %s", pad(fmt.Sprintf("%.0f", p.CCT), 8))
		}
		value := "–"
		if p.Err == nil {
			value = fmt.Sprintf("%.1f", p.Optimum.Efficacy)
		}
		v.printf("%s", padLeft(value, 8))
	}
	v.printf("\n")
}

func drawLimits(s streams, name string, fig figure.Limits) error {
	if len(fig.Curves) == 0 || len(fig.Curves[0].X) == 0 {
		return badInput("no point of the front can be reached: there is nothing to draw")
	}
	p, err := fig.Picture()
	if err != nil {
		return err
	}
	return writePicture(s, name, p)
}

// limitPicture draws the light.
func limitPicture(o *limits.Optimum, c *limits.Conditions) (*figure.Picture, error) {
	fig := figure.SpectralPower{
		Wavelengths: o.Spectrum.Axis(), Values: o.Spectrum.Values(),
		Title: fmt.Sprintf("%.0f lm/W, the most%s", o.Efficacy, askedFor(c)),
		Note:  madeOf(c),
	}
	if parts := o.Lines(); len(c.Emitters) == 0 && len(parts) <= 8 {
		for _, p := range parts {
			if p.Power > 0.01 {
				fig.Lines = append(fig.Lines, figure.LineMark{Wavelength: p.Centre, Label: fmt.Sprintf("%.0f", p.Centre)})
			}
		}
	}
	return fig.Picture()
}

// madeOf says of what the light is mixed.
func madeOf(c *limits.Conditions) string {
	if n := len(c.Emitters); n > 0 {
		return fmt.Sprintf("Computed: the best mixture of %d given emitters.", n)
	}
	var parts []string
	for _, b := range c.Bands {
		width := "ideal lines"
		if b.FWHM > 0 {
			width = fmt.Sprintf("lines %g nm wide", b.FWHM)
		}
		parts = append(parts, fmt.Sprintf("%s at %g–%g nm", width, b.From, b.To))
	}
	return "Computed: the best of all mixtures of " + strings.Join(parts, ", ") + "."
}
