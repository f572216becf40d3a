package cli

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"lampassay/assay"
	"lampassay/assay/conformity"
	"lampassay/assay/quantity"
	"lampassay/assay/uncertainty"
	"lampassay/bench/ingest"
	"lampassay/bench/tidewater"
	"lampassay/publish/sheet"
)

func newDemo(s streams) *cobra.Command {
	out := "lampassay-demo"
	c := &cobra.Command{
		Use:   "demo",
		Short: "Eight invented lamps: their files, sheets and a comparison",
		Long: `Writes the spectrum files of the invented Tidewater Model Railway Club's eight
lamps, each as another instrument would export it, reads them back, and writes
a sheet for each and a page that compares them. Beside them lie the raw counts of
the club's spectrometer, from which it can be calibrated: see
docs/calibrate-your-spectrometer.md. The club, its lamps and every figure are
invented.`,
		Args: exactly(0, "no arguments: use --out for the folder"),
		RunE: func(c *cobra.Command, _ []string) error { return runDemo(c.Context(), s, out) },
	}
	c.Flags().StringVar(&out, "out", out, "the `folder` to write to")
	return c
}

func runDemo(ctx context.Context, s streams, out string) error {
	readings := filepath.Join(out, "readings")
	if err := os.MkdirAll(readings, 0o755); err != nil {
		return err
	}
	about := func(w io.Writer) error { _, err := io.WriteString(w, tidewater.About); return err }
	if err := createFile(filepath.Join(readings, "README.txt"), about); err != nil {
		return err
	}
	raw := filepath.Join(out, "spectrometer")
	if err := writeRecordings(raw); err != nil {
		return err
	}
	boxes := filepath.Join(out, "boxes")
	if err := os.MkdirAll(boxes, 0o755); err != nil {
		return err
	}
	opts := sheet.Options{Invented: true, Version: version()}
	var lamps []sheet.Lamp
	for _, l := range tidewater.Lamps() {
		if err := ctx.Err(); err != nil {
			return err
		}
		name := filepath.Join(readings, l.FileName)
		if err := createFile(name, l.Write); err != nil {
			return err
		}
		if err := createFile(filepath.Join(boxes, l.Slug+".csv"), l.WriteBox); err != nil {
			return err
		}
		lamp, err := demoLamp(ctx, s, name, l)
		if err != nil {
			return err
		}
		page := filepath.Join(out, l.Slug+".html")
		if err := createFile(page, func(w io.Writer) error { return sheet.Write(w, lamp, opts) }); err != nil {
			return err
		}
		fmt.Fprintf(s.err, "lampassay: wrote %s\n", page)
		lamp.Href = l.Slug + ".html"
		lamps = append(lamps, lamp)
	}
	opts.Title = "The lamps of the Tidewater Model Railway Club"
	index := filepath.Join(out, "index.html")
	if err := createFile(index, func(w io.Writer) error { return sheet.WriteComparison(w, lamps, opts) }); err != nil {
		return err
	}
	course := tidewater.RunUp()
	runUp := filepath.Join(out, "series", course.FileName)
	if err := os.MkdirAll(filepath.Dir(runUp), 0o755); err != nil {
		return err
	}
	if err := createFile(runUp, course.Write); err != nil {
		return err
	}
	angles := filepath.Join(out, "angles", tidewater.Floodlight.FileName)
	if err := os.MkdirAll(filepath.Dir(angles), 0o755); err != nil {
		return err
	}
	if err := createFile(angles, tidewater.WriteFloodlight); err != nil {
		return err
	}
	plan := filepath.Join(out, "yard-plan.json")
	if err := createFile(plan, tidewater.WritePlan); err != nil {
		return err
	}
	where, err := filepath.Abs(index)
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(s.out, "The club's eight lamps are invented. Open the comparison, and from there each lamp's sheet:\n  %s\nThe files they were read from are in %s: try \"lampassay assay\" on one.\nWhat the lamps' boxes say is in %s: try \"lampassay claims\".\nRaw counts to calibrate a spectrometer from are in %s: docs/calibrate-your-spectrometer.md goes through them.\nA lamp warming up is in %s: try \"lampassay emission\" on it.\nA floodlight read over angles is in %s: try \"lampassay flux --symmetry quadrant\" on it.\nWhat the yard's light would cost is in %s: try \"lampassay cost --page\" on it.\n", where, readings, boxes, raw, runUp, angles, plan)
	return err
}

// writeRecordings writes the raw counts of the club's spectrometer.
func writeRecordings(folder string) error {
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return err
	}
	for _, r := range tidewater.Recordings() {
		if err := createFile(filepath.Join(folder, r.FileName), r.Write); err != nil {
			return err
		}
	}
	return nil
}

// demoDraws are enough for the two digits that a page shows to be right within
// about two per cent, and quick for eight lamps.
const demoDraws = 2000

// demoLamp reads one of the club's files back as anyone's would be read.
func demoLamp(ctx context.Context, s streams, name string, l tidewater.Lamp) (sheet.Lamp, error) {
	f, err := os.Open(name)
	if err != nil {
		return sheet.Lamp{}, err
	}
	defer f.Close()
	file, err := ingest.Read(name, f, ingest.Options{})
	if err != nil {
		return sheet.Lamp{}, err
	}
	given := assay.Given{Flux: assay.Measured(l.FluxLm), Power: assay.Measured(l.PowerMainsW), Source: conformity.LightSource{Mains: true}}
	if l.PowerLampW > 0 {
		given.PowerLamp = assay.Measured(l.PowerLampW)
	}
	lamp, err := assayFile(file, given)
	if err != nil {
		return sheet.Lamp{}, err
	}
	sure := uncertaintyOptions{class: "compact", seed: 1, draws: demoDraws}
	if l.PowerLampW > 0 { // the club's gear beside the lamp is a choke
		sure.lamp = uncertainty.ChokeDischarge.String()
	}
	if err := sure.assess(ctx, s, &lamp, file, nil, given, nil); err != nil {
		return sheet.Lamp{}, err
	}
	if lamp.Ladder, err = ladderOf(ctx, lamp.Result); err != nil {
		return sheet.Lamp{}, err
	}
	lamp.Name = l.Name
	lamp.Note = fmt.Sprintf("%s%s, in the %s. %s", strings.ToUpper(l.Technology[:1]), l.Technology[1:], l.Place, l.Note)
	for _, d := range []struct {
		id quantity.ID
		v  float64
	}{
		{quantity.LuminousFlux, l.Declared.FluxLm}, {quantity.Power, l.Declared.PowerW}, {quantity.CCT, l.Declared.CCT}, {quantity.Ra, l.Declared.Ra},
	} {
		if d.v != 0 {
			lamp.Declared = append(lamp.Declared, sheet.Declared{ID: d.id, Value: d.v})
		}
	}
	return lamp, nil
}
