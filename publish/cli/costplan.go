package cli

import (
	"context"
	"fmt"
	"io"
	"path/filepath"

	"lampassay/assay"
	"lampassay/assay/conformity"
	"lampassay/assay/cost"
	"lampassay/assay/jsonfile"
	"lampassay/bench/ingest"
	"lampassay/publish/sheet"
)

// planSchema is what the first key of a plan must say.
const planSchema = "lampassay-cost/1"

// costPlan is a plan file: docs/format/cost-plan.md.
type costPlan struct {
	Schema   string     `json:"schema"`
	Title    string     `json:"title"`
	Hours    cost.Value `json:"hours_per_year"`
	Tariff   cost.Value `json:"tariff_per_kwh"`
	Carbon   cost.Value `json:"carbon_kg_per_kwh"`
	Currency string     `json:"currency"`
	Lamps    []planLamp `json:"lamps"`
}

// planLamp is one lamp of a plan.
type planLamp struct {
	Name      string     `json:"name"`
	Flux      cost.Value `json:"flux_lm"`
	Power     cost.Value `json:"power_w"`
	PowerLamp cost.Value `json:"power_lamp_w"`
	Price     cost.Value `json:"price"`
	Life      cost.Value `json:"life_h"`
	Spectrum  string     `json:"spectrum"` // a file beside the plan
}

func readPlan(name string) (*costPlan, error) {
	f, _, err := openFile(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	p, err := parsePlan(f)
	if err != nil {
		return nil, badInput("%s: %s", name, plainly(err))
	}
	return p, nil
}

func parsePlan(r io.Reader) (*costPlan, error) {
	p := new(costPlan)
	if err := jsonfile.Read(r, p); err != nil {
		return nil, fmt.Errorf("not a plan: %w", err)
	}
	if p.Schema != planSchema {
		return nil, fmt.Errorf("the schema is %q, and this program reads %q", p.Schema, planSchema)
	}
	return p, nil
}

func (p *costPlan) terms() cost.Terms {
	return cost.Terms{Hours: p.Hours, Tariff: p.Tariff, Carbon: p.Carbon, Currency: p.Currency}
}

func (p *costPlan) costs() []cost.Lamp {
	var lamps []cost.Lamp
	for _, l := range p.Lamps {
		lamps = append(lamps, cost.Lamp{Name: l.Name, Flux: l.Flux, Power: l.Power, Price: l.Price, Life: l.Life})
	}
	return lamps
}

// writePlanPage sets the lamps of a plan side by side: their spectra, ladders
// and costs. The spectra lie beside the plan.
func writePlanPage(ctx context.Context, s streams, p *costPlan, folder string, report *cost.Report, page string) error {
	opts := sheet.Options{Title: p.Title, Version: version(), Cost: report}
	var lamps []sheet.Lamp
	for i := range p.Lamps {
		l, err := p.Lamps[i].measured(ctx, s, folder)
		if err != nil {
			return err
		}
		lamps = append(lamps, l)
	}
	if err := createFile(page, func(w io.Writer) error { return sheet.WriteComparison(w, lamps, opts) }); err != nil {
		return err
	}
	_, err := fmt.Fprintf(s.err, "lampassay: wrote %s\n", page)
	return err
}

// measured assays the lamp's spectrum with the plan's flux and power.
func (l *planLamp) measured(ctx context.Context, s streams, folder string) (sheet.Lamp, error) {
	if l.Spectrum == "" {
		return sheet.Lamp{}, badInput("--page: the plan names no spectrum for %s", l.Name)
	}
	if l.PowerLamp.Value > l.Power.Value {
		return sheet.Lamp{}, badInput("%s: %g W at the lamp is more than %g W at the mains: were they swapped?", l.Name, l.PowerLamp.Value, l.Power.Value)
	}
	in, err := readInput(s, filepath.Join(folder, l.Spectrum), ingest.Options{})
	if err != nil {
		return sheet.Lamp{}, err
	}
	defer in.Close()
	if in.wide != nil {
		return sheet.Lamp{}, badInput("%s holds %d spectra, and a plan takes files of one", in.name, in.wide.Columns())
	}
	given := assay.Given{Flux: assay.Measured(l.Flux.Value), Power: assay.Measured(l.Power.Value), Source: conformity.LightSource{Mains: true}}
	if l.PowerLamp.Given() {
		given.PowerLamp = assay.Measured(l.PowerLamp.Value)
	}
	lamp, err := assayFile(in.file, given)
	if err != nil {
		return sheet.Lamp{}, err
	}
	lamp.Name = l.Name
	lamp.Ladder, err = ladderOf(ctx, lamp.Result)
	return lamp, err
}
