package cli

import (
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"strings"

	"lampassay/bench/ingest"
	"lampassay/light/emission"
	"lampassay/publish/figure"
)

// course is a lamp followed over time, with where its spectra came from.
type course struct {
	*emission.Timeline
	names    []string // base names of the files
	sums     []string // SHA-256 of each
	reading  []string // how they were read, in sentences
	warnings []string
	unit     string // of the power in lines, empty for a relative one
}

// runCourse follows the spectra of one file.
func runCourse(s streams, o *emissionOptions, src *source, read ingest.Options) error {
	series, err := src.series(read)
	if err != nil {
		return err
	}
	if err := o.read.keep(s, &series.Report, &read); err != nil {
		return err
	}
	c := course{names: []string{filepath.Base(series.Name)}, sums: []string{series.SHA256},
		reading: series.Report.Sentences(), warnings: series.Report.Warnings}
	if series.Quantity.Absolute() {
		c.unit = strings.TrimSuffix(series.Quantity.Unit(), "/nm")
	}
	var moments []emission.Moment
	for i, at := range series.Times {
		sp, err := series.Spectrum(i)
		if err != nil {
			return badInput("%s: %w", src.name, err)
		}
		moments = append(moments, emission.Moment{Seconds: at, Spectrum: sp})
	}
	return o.follow(s, src.name, &c, moments)
}

// runMoments follows files of one spectrum each.
func runMoments(s streams, o *emissionOptions, names []string, read ingest.Options) error {
	if o.at == "" {
		return badInput("%d files are a course in time: say with --at when each was taken, in seconds", len(names))
	}
	times := strings.Split(o.at, ",")
	if len(times) != len(names) {
		return badInput("--at has %d times for %d files: give one for each", len(times), len(names))
	}
	var c course
	var moments []emission.Moment
	for i, name := range names {
		at, err := parseNumber(times[i])
		if err != nil {
			return badInput("--at %s: %q is not a number of seconds", o.at, times[i])
		}
		in, err := readInput(s, name, read)
		if err != nil {
			return err
		}
		defer in.Close()
		if in.wide != nil {
			return badInput("%s holds %d spectra: --at is for files of one each", in.name, in.wide.Columns())
		}
		file := in.file
		if i == 0 {
			if err := o.read.keep(s, &file.Report, &read); err != nil {
				return err
			}
		}
		if i > 0 && file.Spectrum.Quantity() != moments[0].Spectrum.Quantity() {
			return badInput("%s and %s do not hold the same quantity: their powers cannot be compared", names[0], name)
		}
		if q := file.Spectrum.Quantity(); q.Absolute() {
			c.unit = strings.TrimSuffix(q.Unit(), "/nm")
		}
		c.names, c.sums = append(c.names, filepath.Base(file.Name)), append(c.sums, file.SHA256)
		for _, w := range file.Report.Warnings {
			c.warnings = append(c.warnings, filepath.Base(file.Name)+": "+w)
		}
		moments = append(moments, emission.Moment{Seconds: at, Spectrum: file.Spectrum})
	}
	return o.follow(s, names[0], &c, moments)
}

// follow analyses the moments and writes what was found.
func (o *emissionOptions) follow(s streams, name string, c *course, moments []emission.Moment) (err error) {
	if c.Timeline, err = emission.Follow(moments, o.analysis()); err != nil {
		return badInput("%s: %w", name, err)
	}
	for _, w := range c.Results[len(c.Results)-1].Warnings {
		c.warnings = append(c.warnings, "at the end: "+w)
	}
	if err := emit(s.out, o.json, courseRecord(c), func(v *view) { v.course(c) }); err != nil || o.figure == "" {
		return err
	}
	p, err := c.picture()
	if err != nil {
		return badInput("--figure %s: no emitter was found whose course could be drawn", o.figure)
	}
	return writePicture(s, o.figure, p)
}

func (c *course) picture() (*figure.Picture, error) {
	e := figure.EmissionTimeline{Seconds: c.Seconds, Unit: c.unit}
	for _, t := range c.Tracks {
		e.Tracks = append(e.Tracks, figure.EmissionTrack{Emitter: t.Spectrum, Power: t.Power, PowerU: t.PowerU})
	}
	for _, v := range c.Events {
		e.Events = append(e.Events, figure.EmissionEvent{Seconds: v.Seconds, Text: v.Text})
	}
	return e.Picture()
}

// course writes a course for reading.
func (v *view) course(c *course) {
	v.printf("%s\n", strings.Join(c.names, ", "))
	for _, s := range c.reading {
		v.wrapped("", s, "")
	}
	v.printf("\nWhat happens\n")
	if len(c.Events) == 0 {
		v.printf("  Nothing rises above the noise.\n")
	}
	for _, e := range c.Events {
		v.wrapped("  "+padLeft(clock(e.Seconds), 8)+"  ", e.Text, "")
	}
	if len(c.Tracks) > 0 {
		strongest := 0.0
		for _, t := range c.Tracks {
			strongest = max(strongest, slices.Max(t.Power))
		}
		v.printf("\nPower in the lines of each emitter\n  %s%s%s%s%s\n", pad("", 16), padLeft("highest", 14), padLeft("at", 10), padLeft("half, up", 10), padLeft("half, down", 12))
		for _, t := range c.Tracks {
			high := slices.Max(t.Power)
			amount := fmt.Sprintf("%.1f %%", 100*high/strongest)
			if c.unit != "" {
				amount = fmt.Sprintf("%.3g %s", high, c.unit)
			}
			v.printf("  %s%s%s%s%s\n", pad(t.Spectrum, 16), padLeft(amount, 14),
				padLeft(clock(c.Seconds[slices.Index(t.Power, high)]), 10), padLeft(clock(t.Rise), 10), padLeft(clock(t.Fall), 12))
		}
		if c.unit == "" {
			v.printf("  Per cent of the strongest.\n")
		}
	}
	v.printf("\nThe kind of lamp\n")
	for i, r := range c.Results {
		if i > 0 && i < len(c.Results)-1 && r.Family.Key == c.Results[i-1].Family.Key {
			continue
		}
		v.wrapped("  "+padLeft(clock(c.Seconds[i]), 8)+"  ", fmt.Sprintf("%s (score %.2f)", r.Family.Name, r.Family.Score), "")
	}
	v.cautions(c.warnings)
}

// clock writes seconds as minutes and seconds, or with hours from one on; “–” for
// what never happens.
func clock(seconds float64) string {
	if math.IsNaN(seconds) {
		return "–"
	}
	sign := ""
	if seconds < 0 {
		sign, seconds = "−", -seconds
	}
	if seconds < 1 && seconds != math.Trunc(seconds) {
		return fmt.Sprintf("%s%.2f s", sign, seconds)
	}
	s := int(math.Round(seconds))
	if s >= 3600 {
		return fmt.Sprintf("%s%d:%02d:%02d", sign, s/3600, s/60%60, s%60)
	}
	return fmt.Sprintf("%s%d:%02d", sign, s/60, s%60)
}

// The record of a course. A figure that does not exist is null.
type (
	courseJSON struct {
		Input    []courseInputJSON `json:"input"`
		Unit     string            `json:"unit"` // of powers; empty for a relative one
		Seconds  []float64         `json:"seconds"`
		Total    []float64         `json:"total"`
		Tracks   []trackJSON       `json:"tracks"`
		Events   []eventJSON       `json:"events"`
		Families []momentJSON      `json:"families"` // one a moment
		Warnings []string          `json:"warnings"`
	}
	courseInputJSON struct {
		File   string `json:"file"`
		SHA256 string `json:"sha256"`
	}
	trackJSON struct {
		Symbol   string    `json:"symbol"`
		Spectrum string    `json:"spectrum"`
		Power    []float64 `json:"power"`
		PowerU   []float64 `json:"power_u"`
		Rise     *float64  `json:"rise_s"`
		Fall     *float64  `json:"fall_s"`
	}
	eventJSON struct {
		Kind    string  `json:"kind"`
		Seconds float64 `json:"seconds"`
		Text    string  `json:"text"`
	}
	momentJSON struct {
		Key   string  `json:"key"`
		Score float64 `json:"score"`
	}
)

func courseRecord(c *course) *courseJSON {
	j := &courseJSON{Unit: c.unit, Seconds: c.Seconds, Total: c.Total, Tracks: []trackJSON{}, Events: []eventJSON{}, Warnings: listed(c.warnings)}
	for i, name := range c.names {
		j.Input = append(j.Input, courseInputJSON{name, c.sums[i]})
	}
	for _, t := range c.Tracks {
		j.Tracks = append(j.Tracks, trackJSON{t.Symbol, t.Spectrum, t.Power, t.PowerU, number(t.Rise), number(t.Fall)})
	}
	for _, e := range c.Events {
		j.Events = append(j.Events, eventJSON(e))
	}
	for _, r := range c.Results {
		j.Families = append(j.Families, momentJSON{r.Family.Key, r.Family.Score})
	}
	return j
}
