package tidewater

import (
	"bufio"
	"fmt"
	"io"
)

// further are claims on the boxes beside those of [Declared]: invented like
// everything of the club's.
var further = map[string][][3]string{
	"high-cri-led": {{"r9", "90", ""}, {"energy_class", "G", ""}},
	"red-line-led": {{"energy_class", "E", ""}, {"luminous_efficacy", "107", "lm/W"}},
	"phosphor-led": {{"energy_class", "F", ""}, {"sp_ratio", "2.2", ""}, {"displacement_factor", "0.5", ""}},
}

// WriteBox writes what the lamp's box says, as a table of quantity, value and
// unit. The claims are invented.
func (l Lamp) WriteBox(w io.Writer) error {
	b := bufio.NewWriter(w)
	fmt.Fprintf(b, "# %s: what the box says. Invented: no maker's lamp stood model.\nquantity,value,unit\n", l.Name)
	d := l.Declared
	for _, c := range []struct {
		key   string
		value float64
		unit  string
	}{{"luminous_flux", d.FluxLm, "lm"}, {"power", d.PowerW, "W"}, {"cct", d.CCT, "K"}, {"ra", d.Ra, ""}} {
		if c.value != 0 {
			fmt.Fprintf(b, "%s,%g,%s\n", c.key, c.value, c.unit)
		}
	}
	for _, c := range further[l.Slug] {
		fmt.Fprintf(b, "%s,%s,%s\n", c[0], c[1], c[2])
	}
	if err := b.Flush(); err != nil {
		return fmt.Errorf("tidewater: write the box of %s: %w", l.Name, err)
	}
	return nil
}
