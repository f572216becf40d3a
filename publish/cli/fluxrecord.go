package cli

import (
	"encoding/json"
	"fmt"
	"math"
	"path/filepath"
	"strconv"
	"strings"

	"lampassay/assay"
	"lampassay/assay/comparison"
	"lampassay/assay/flux"
	"lampassay/assay/uncertainty"
)

// fluxRecord is a luminous flux as "flux --json" prints it, on its way into an assay.
type fluxRecord struct {
	name     string
	route    string
	figure   flux.Figure
	parts    []uncertainty.Factor
	cautions []string
}

// readFluxRecord reads a record. Of a directional lamp the assay is about the
// useful flux, of which the record states value and uncertainty but no budget: its
// causes are taken to have the shares they have in all of the flux.
func readFluxRecord(name string, directional bool) (*fluxRecord, error) {
	data, err := readBounded(name, sittingLimit, "the record of a flux")
	if err != nil {
		return nil, err
	}
	return parseFluxRecord(filepath.Base(name), data, directional)
}

// parseFluxRecord reads a record's bytes; base is what messages call it.
func parseFluxRecord(base string, data []byte, directional bool) (*fluxRecord, error) {
	var j fluxJSON
	if err := json.Unmarshal(data, &j); err != nil || j.Route == "" || j.Flux.Unit != "lm" {
		return nil, badInput("%s is no record of a flux: make one with \"lampassay flux … --json\"", base)
	}
	if !(j.Flux.Value > 0) || !(j.Flux.U >= 0) {
		return nil, badInput("%s: a flux of %g lm with u = %g lm: the flux must be above zero, and u not below it", base, j.Flux.Value, j.Flux.U)
	}
	r := &fluxRecord{name: base, route: j.Route, figure: flux.Figure{Value: j.Flux.Value, U: j.Flux.U, Low: j.Flux.Interval[0], High: j.Flux.Interval[1]}, cautions: j.Cautions}
	scale := 1 / j.Flux.Value
	if directional {
		if j.Shape == nil || !j.Shape.Directional {
			return nil, badInput("%s is no distribution of a directional lamp, and --light dls asks for the flux in its cone", base)
		}
		useful := j.Shape.Useful
		if !(useful.Value > 0) || !(useful.U >= 0) {
			return nil, badInput("%s: a useful flux of %g lm with u = %g lm: the flux must be above zero, and u not below it", base, useful.Value, useful.U)
		}
		if j.Flux.U > 0 {
			scale = useful.U / useful.Value / j.Flux.U
		}
		r.figure = flux.Figure{Value: useful.Value, U: useful.U, Low: useful.Interval[0], High: useful.Interval[1]}
	}
	rest := j.Flux.U * j.Flux.U
	for _, l := range j.Budget {
		if l.Name == "" || !(l.Contribution >= 0) {
			return nil, badInput("%s: a line of the budget has no name, or u = %g", base, l.Contribution)
		}
		rest -= l.Contribution * l.Contribution
		r.parts = append(r.parts, uncertainty.FluxPart(l.Name, l.relative(scale), l.Source))
	}
	if rest > 0.01*j.Flux.U*j.Flux.U {
		r.parts = append(r.parts, uncertainty.FluxPart(uncertainty.FluxAsGiven, uncertainty.Normal(0, math.Sqrt(rest)*scale), "what the budget of "+base+" leaves out"))
	}
	return r, nil
}

// takeRecord reads the flux from its record.
func (o *assayOptions) takeRecord() (err error) {
	if o.fluxRecord == "" {
		return nil
	}
	if o.flux.set {
		return badInput("--flux and --flux-record both give the flux: use one")
	}
	if o.sure.record, err = readFluxRecord(o.fluxRecord, o.lightType == "dls"); err != nil {
		return err
	}
	o.flux = optionalFloat{o.sure.record.figure.Value, true}
	return nil
}

// relative is what a line of the budget does to the flux, in the shape of its
// cause.
func (l *fluxLineJSON) relative(scale float64) uncertainty.Distribution {
	u := l.Contribution * scale
	switch shape, rest, _ := strings.Cut(l.Distribution, " "); shape {
	case "rectangular":
		return uncertainty.Rectangular(0, u*math.Sqrt(3))
	case "triangular":
		return uncertainty.Triangular(0, u*math.Sqrt(6))
	case "arcsine":
		return uncertainty.Arcsine(0, u*math.Sqrt2)
	case "t":
		_, nu, _ := strings.Cut(rest, "ν = ")
		nu, _, _ = strings.Cut(nu, ")")
		if df, err := strconv.ParseFloat(nu, 64); err == nil && df >= 1 {
			return uncertainty.StudentT(0, u, df)
		}
	}
	return uncertainty.Normal(0, u)
}

// sentence says where the flux of an assay is from.
func (r *fluxRecord) sentence() string {
	return fmt.Sprintf("Luminous flux from %s: %s (%s).", r.name, fluxText(r.figure, "lm"), r.route)
}

// parts are what the command line says of the figures beside the spectrum: a
// record of the flux, and --u.
func (o *uncertaintyOptions) parts(given assay.Given) (map[string][]uncertainty.Factor, error) {
	parts := map[string][]uncertainty.Factor{}
	if o.record != nil {
		parts["luminous_flux"] = o.record.parts
	}
	values := map[string]assay.Optional{"luminous_flux": given.Flux, "power": given.Power, "power_lamp": given.PowerLamp}
	for _, s := range o.stated {
		key, text, ok := strings.Cut(s, "=")
		of, known := values[key]
		switch {
		case !ok || !known:
			return nil, badInput("--u %q: write it as luminous_flux=4%% or power=0.1; the others follow from these and the spectrum", s)
		case !of.Known:
			return nil, badInput("--u %s: no %s is given", key, strings.ReplaceAll(key, "_", " "))
		case parts[key] != nil:
			return nil, badInput("--u %s: how sure it is is said twice", key)
		}
		u, err := comparison.ParseU(text, of.Value)
		if err != nil {
			return nil, badInput("--u %s: %s", key, strings.TrimPrefix(err.Error(), "comparison: "))
		}
		whole, err := uncertainty.Whole(key, uncertainty.Normal(0, u/of.Value), "stated with --u")
		if err != nil {
			return nil, badInput("%w", err)
		}
		parts[key] = []uncertainty.Factor{whole}
	}
	return parts, nil
}
