package cli

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"lampassay/bench/instrument"
	"lampassay/publish/figure"
)

func newCalibrate(s streams) *cobra.Command {
	c := &cobra.Command{
		Use:   "calibrate",
		Short: "Find out what your spectrometer does to light",
		Long: `Makes and keeps the calibrations of one spectrometer in an instrument file,
which "lampassay assay --instrument" then takes. Each starts from recordings of
raw counts that a bench can make: a line lamp, a filament lamp of known colour
temperature, a dark of the same exposure.

docs/calibrate-your-spectrometer.md goes through it step by step. Read its
cautions first: line lamps are mains appliances, some hold mercury or give
ultraviolet, and halogen lamps burn. Local rules come before any page.`,
		Args: cobra.ArbitraryArgs,
		RunE: func(c *cobra.Command, args []string) error {
			if len(args) > 0 {
				return badInput("there is no calibration %q: see \"lampassay calibrate --help\"", args[0])
			}
			return c.Help()
		},
	}
	c.AddCommand(newCalibrateWavelength(s), newCalibrateShift(s), newCalibrateStray(s), newCalibrateSecondOrder(s), newCalibrateLinearity(s), newCalibrateResponse(s))
	return c
}

// keepOptions say where an instrument is kept and when it was calibrated.
type keepOptions struct {
	instrument, out string
	date            string
	notes           string
	json            bool
}

func (o *keepOptions) register(f *pflag.FlagSet, what string) {
	f.StringVar(&o.instrument, "instrument", "", "the instrument `FILE`: "+what)
	f.StringVar(&o.out, "out", "", "write the instrument to this `FILE` instead")
	f.StringVar(&o.date, "date", "", "the `day` of the recordings, 2026-11-25 (default: today)")
	f.StringVar(&o.notes, "notes", "", "`words` to keep with the calibration")
	f.BoolVar(&o.json, "json", false, "print one JSON object")
}

// day returns the day that a calibration is dated.
func (o *keepOptions) day() (instrument.Day, error) {
	if o.date == "" {
		return instrument.DayOf(time.Now()), nil
	}
	t, err := time.Parse(time.DateOnly, o.date)
	if err != nil {
		return instrument.Day{}, badInput("--date %q is no day: write it like 2026-11-25", o.date)
	}
	return instrument.Day{Time: t}, nil
}

// load reads the instrument file, which has to be there.
func (o *keepOptions) load() (*instrument.Instrument, error) {
	if o.instrument == "" {
		return nil, badInput("which instrument? Name its file with --instrument; \"lampassay calibrate wavelength\" begins one")
	}
	return loadInstrument(o.instrument)
}

// loadInstrument reads an instrument file.
func loadInstrument(name string) (*instrument.Instrument, error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	in, err := instrument.Read(f)
	if err != nil {
		return nil, badInput("%s: %w", filepath.Base(name), spoken(err))
	}
	return in, nil
}

// save writes the instrument, whole or not at all.
func (o *keepOptions) save(s streams, in *instrument.Instrument) error {
	name := o.out
	if name == "" {
		name = o.instrument
	}
	if name == "" {
		_, err := fmt.Fprintln(s.err, "lampassay: nothing was kept: name a file with --instrument to keep it")
		return err
	}
	if err := createFile(name, in.Write); err != nil {
		return err
	}
	_, err := fmt.Fprintf(s.err, "lampassay: wrote %s\n", name)
	return err
}

// exists reports whether a file is there; any other trouble shows when it is
// opened.
func exists(name string) bool {
	_, err := os.Stat(name)
	return !errors.Is(err, fs.ErrNotExist)
}

// dated is a calibration as it is kept.
func dated[T any](o *keepOptions, day instrument.Day, days int, files []string, value T) *instrument.Dated[T] {
	return &instrument.Dated[T]{Made: day, Days: days, Files: files, Notes: o.notes, Value: value}
}

// checkPicture refuses a name that says no known kind of picture.
func checkPicture(name string) error {
	switch strings.ToLower(filepath.Ext(name)) {
	case "", ".svg", ".png":
		if name == "" || filepath.Ext(name) != "" {
			return nil
		}
	}
	return badInput("--figure %s: its name has to end in .svg or .png", name)
}

// drawTo draws a picture to a file, where one is named.
func drawTo(s streams, name string, draw func() (*figure.Picture, error)) error {
	if name == "" {
		return nil
	}
	p, err := draw()
	if err != nil {
		return err
	}
	return writePicture(s, name, p)
}

// writePicture writes a picture as what its name says.
func writePicture(s streams, name string, p *figure.Picture) error {
	write := func(w io.Writer) error { return p.SVG(w, figure.Light) }
	if strings.EqualFold(filepath.Ext(name), ".png") {
		write = func(w io.Writer) error { return p.PNG(w, figure.Light, figurePixels) }
	}
	if err := createFile(name, write); err != nil {
		return err
	}
	_, err := fmt.Fprintf(s.err, "lampassay: wrote %s\n", name)
	return err
}

// atLeastOneFile is for commands that take files.
func atLeastOneFile(c *cobra.Command, args []string) error {
	if len(args) == 0 {
		return badInput("%s takes at least one file: see %q", c.CommandPath(), c.CommandPath()+" --help")
	}
	return nil
}
