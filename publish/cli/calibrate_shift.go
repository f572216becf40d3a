package cli

import (
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"lampassay/assay/quantity"
	"lampassay/bench/instrument"
	"lampassay/light/calibration"
)

func newCalibrateShift(s streams) *cobra.Command {
	var o struct {
		lamp string
		detectorOptions
	}
	c := &cobra.Command{
		Use:   "shift FILE --instrument FILE",
		Short: "The day's check: have the lines moved?",
		Long: `Compares one recording of a line lamp with where the calibration had its lines,
and keeps by how much they have moved. Lines that moved against one another ask
for a new calibration: the answer is then no, and nothing is kept.`,
		Example: "  lampassay calibrate shift today.csv --lamp neon --dark dark.csv --instrument club.json",
		Args:    exactly(1, "one file"),
		RunE: func(_ *cobra.Command, args []string) error {
			in, day, m, err := o.begin(s, args)
			if err != nil {
				return err
			}
			if in.Wavelength == nil {
				return badInput("%s has no wavelength calibration that could have shifted", in.Name)
			}
			w := in.Wavelength.Value
			if o.lamp != "" {
				if w.Lines, err = linesOf(o.lamp, &w); err != nil {
					return err
				}
			}
			untimed(&m)
			if err := timed(&m); err != nil {
				return err
			}
			counts, clipped, err := in.Counts(m)
			if err != nil {
				return spoken(err)
			}
			shift, err := w.CheckShift(filepath.Base(args[0]), counts, clipped)
			if err != nil {
				return spoken(err)
			}
			in.Shift = dated(&o.keep, day, instrument.ShiftDays, baseNames(args, o.raw.darks), shift)
			record := struct {
				Instrument string             `json:"instrument"`
				Made       instrument.Day     `json:"made"`
				Files      []string           `json:"files"`
				Shift      *calibration.Shift `json:"shift"`
			}{in.Name, in.Shift.Made, in.Shift.Files, &in.Shift.Value}
			if err := emit(s.out, o.keep.json, record, func(v *view) { v.shift(in) }); err != nil {
				return err
			}
			return o.keep.save(s, in)
		},
	}
	f := c.Flags()
	f.SortFlags = false
	f.StringVar(&o.lamp, "lamp", "", "the `lamp` recorded; it has to be one of the calibration's (default: any of these)")
	o.register(c)
	return c
}

// linesOf returns the lines of a calibration that a lamp emits.
func linesOf(name string, w *calibration.Wavelength) (lines []calibration.AnchorLine, err error) {
	lamp, err := calibration.LampByName(name)
	if err != nil {
		return nil, spoken(err)
	}
	emitters := map[string]bool{}
	for _, l := range lamp.Lines {
		emitters[l.Emitter] = true
	}
	var others []string
	for _, l := range w.Lines {
		emitter := strings.Join(strings.SplitN(l.Line, " ", 3)[:min(2, strings.Count(l.Line, " ")+1)], " ")
		if emitters[emitter] {
			lines = append(lines, l)
		} else if !slices.Contains(others, emitter) {
			others = append(others, emitter)
		}
	}
	if len(lines) == 0 {
		return nil, badInput("%s took no part in the calibration, which rests on %s: record one of these", lamp.Name, strings.Join(others, ", "))
	}
	return lines, nil
}

// shift writes the day's shift for reading.
func (v *view) shift(in *instrument.Instrument) {
	shift := &in.Shift.Value
	v.printf("%s: the lines have moved by %s pixels (%s nm) since %s\n", in.Name, signed(plusMinus(shift.Pixels, shift.U)),
		signedNumber(shift.Nm, 2), in.Wavelength.Made.Format("2006-01-02"))
	if shift.Lines < 4 {
		v.printf("Seen in %d lines.\n", shift.Lines)
		return
	}
	v.printf("Seen in %d lines; against one another they moved by %s nm from end to end, where %.1f nm would ask for a new calibration.\n",
		shift.Lines, signed(plusMinus(shift.StretchNm, shift.StretchU)), calibration.StretchLimit)
}

// plusMinus writes a value with its uncertainty and no more digits than that
// earns; one that is no uncertainty leaves the value at four digits.
func plusMinus(v, u float64) string {
	if !(u > 0) || math.IsInf(u, 0) {
		return strings.Replace(fmt.Sprintf("%.4g", v), "-", "−", 1)
	}
	value, plus := quantity.Rounded(v, u)
	return value + " ± " + plus
}

// signed puts a plus before a number that has no minus.
func signed(number string) string {
	if strings.HasPrefix(number, "−") {
		return number
	}
	return "+" + number
}
