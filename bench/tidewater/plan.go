package tidewater

import (
	"encoding/json"
	"io"
)

// planned are the lamps that the club thinks of for its yard, with invented
// prices and lives.
var planned = []struct {
	slug        string
	price, life float64 // money, h
	relativeU   float64 // of the flux
}{
	{"low-pressure-sodium", 38, 16_000, 0.04},
	{"phosphor-led", 5, 15_000, 0.04},
	{"triphosphor-tube", 6, 18_000, 0.04},
}

// WritePlan writes a plan of what the yard's light costs, as docs/format/
// cost-plan.md describes it, to lie beside the folder of the readings. Hours,
// tariff, carbon, prices and lives are invented.
func WritePlan(w io.Writer) error {
	type value struct {
		Value float64 `json:"value"`
		U     float64 `json:"u"`
	}
	type lamp struct {
		Name      string  `json:"name"`
		Flux      value   `json:"flux_lm"`
		Power     float64 `json:"power_w"`
		PowerLamp float64 `json:"power_lamp_w,omitempty"`
		Price     float64 `json:"price"`
		Life      float64 `json:"life_h"`
		Spectrum  string  `json:"spectrum"`
	}
	plan := struct {
		Schema   string  `json:"schema"`
		Title    string  `json:"title"`
		Hours    value   `json:"hours_per_year"`
		Tariff   float64 `json:"tariff_per_kwh"`
		Currency string  `json:"currency"`
		Carbon   float64 `json:"carbon_kg_per_kwh"`
		Lamps    []lamp  `json:"lamps"`
	}{"lampassay-cost/1", "Lighting the yard of the Tidewater club (invented)", value{1500, 50}, 0.30, "EUR", 0.25, nil}
	for _, p := range planned {
		for _, l := range Lamps() {
			if l.Slug == p.slug {
				plan.Lamps = append(plan.Lamps, lamp{l.Name, value{l.FluxLm, p.relativeU * l.FluxLm}, l.PowerMainsW, l.PowerLampW, p.price, p.life, "readings/" + l.FileName})
			}
		}
	}
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	return e.Encode(plan)
}
