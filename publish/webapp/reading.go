package webapp

import (
	"bytes"
	"net/url"
	"regexp"
	"strconv"
	"strings"
	"time"

	"lampassay/bench/ingest"
	"lampassay/light/spectrum"
)

// choice is one answer to a question about a file.
type choice struct{ Value, Label string }

// question is something that a reader of files decides by itself and that a person
// may know better.
type question struct {
	Name, Label string
	Choices     []choice
	Text        bool // answered by writing, not by choosing
	Value       string
}

// questions are what can be settled about reading a file. The first answer leaves
// it to the reader.
var questions = []question{
	{Name: "decimal", Label: "Decimal mark", Choices: []choice{{"", "as found"}, {"point", "point"}, {"comma", "comma"}}},
	{Name: "separator", Label: "Columns are parted by", Choices: []choice{{"", "as found"}, {"comma", "comma"}, {"semicolon", "semicolon"}, {"tab", "tab"}, {"space", "spaces"}, {"pipe", "|"}}},
	{Name: "wavelength_unit", Label: "Wavelengths in", Choices: []choice{{"", "as found"}, {"nm", "nm"}, {"angstrom", "Å"}, {"micrometre", "µm"}, {"wavenumber", "cm⁻¹"}, {"wavenumber-density", "cm⁻¹, values per cm⁻¹"}}},
	{Name: "quantity", Label: "Values are", Choices: []choice{{"", "as found"}, {"relative", "relative"}, {"counts", "raw counts"}, {"flux", "spectral flux, W/nm"}, {"irradiance", "spectral irradiance, W/(m²·nm)"}, {"radiance", "spectral radiance"}, {"intensity", "spectral intensity"}}},
	{Name: "photon", Label: "They count", Choices: []choice{{"", "energy (or as the file says)"}, {"1", "photons (µmol)"}}},
	{Name: "projection", Label: "Samples are", Choices: []choice{{"", "as found"}, {"sampled", "an instrument’s curve"}, {"tabulated", "a published table"}}},
	{Name: "column", Label: "Column of the values, counted from 1", Text: true},
	{Name: "sheet", Label: "Sheet of a workbook", Text: true},
	{Name: "path", Label: "Place in a JSON file", Text: true},
}

// answered fills in what an address says.
func answered(ask url.Values) []question {
	out := make([]question, len(questions))
	for i, q := range questions {
		q.Value = clip(strings.TrimSpace(ask.Get(q.Name)), 200)
		out[i] = q
	}
	return out
}

// optioned is an option of the command line in a sentence, perhaps with its value.
var optioned = regexp.MustCompile(`--([a-z-]+)(?: ([a-z-]+))?`)

// inWords says what a sentence for the command line asks for in the words of the
// page: “Wavelengths in: Å” for --wavelength-unit angstrom.
func inWords(s string) string {
	return optioned.ReplaceAllStringFunc(s, func(found string) string {
		parts := optioned.FindStringSubmatch(found)
		name, value := strings.ReplaceAll(parts[1], "-", "_"), parts[2]
		if name == "spectrum" {
			name = "quantity"
		}
		for _, q := range questions {
			if q.Name != name {
				continue
			}
			for _, c := range q.Choices {
				if value != "" && c.Value == value {
					return "“" + q.Label + ": " + c.Label + "”"
				}
			}
			return strings.Replace(found, "--"+parts[1], "“"+q.Label+"”", 1)
		}
		return found
	})
}

// settled returns the answers as the reader takes them.
func settled(ask url.Values) (o ingest.Options, err error) {
	say := func(name string) string { return auto(strings.TrimSpace(ask.Get(name))) }
	var errs [4]error
	o.Decimal, errs[0] = ingest.ParseDecimal(say("decimal"))
	o.Separator, errs[1] = ingest.ParseSeparator(say("separator"))
	o.WavelengthUnit, errs[2] = ingest.ParseWavelengthUnit(say("wavelength_unit"))
	o.Projection, errs[3] = ingest.ParseProjection(say("projection"))
	for _, err := range errs {
		if err != nil {
			return o, bad("%s", sentence(err.Error()))
		}
	}
	if text := ask.Get("quantity"); text != "" {
		q, err := spectrum.ParseQuantity(text)
		if err != nil {
			return o, bad("%s", sentence(err.Error()))
		}
		o.Quantity = &q
	}
	if text := strings.TrimSpace(ask.Get("column")); text != "" {
		n, err := strconv.Atoi(text)
		if err != nil || n < 1 {
			return o, bad("%q is no column: they are counted from 1.", clip(text, 20))
		}
		o.Column = n
	}
	o.Photon, o.Sheet, o.Path = ask.Get("photon") != "", clip(ask.Get("sheet"), 200), clip(ask.Get("path"), 500)
	o.MaxBytes, o.MaxValues = mostUpload, 8<<20
	return o, nil
}

// whole is everything that a file holds of one lamp.
type whole struct {
	axis       []float64
	values     [][]float64
	times      []float64 // s, one for each spectrum
	start      time.Time // zero where the file does not say
	projection string
	report     *ingest.Report
	wide       bool // several spectra that are no course over time: values has the first
}

func (w *whole) duration() float64 { return w.times[len(w.times)-1] - w.times[0] }

// readWhole reads a file as one spectrum, or as one lamp over time where its columns
// or rows are headed by times.
func readWhole(name string, raw []byte, o ingest.Options) (*whole, error) {
	wide := false
	if o.Column == 0 {
		series, err := ingest.ReadSeries(name, bytes.NewReader(raw), o)
		if err == nil && len(series.Times) > 1 {
			return &whole{series.Axis, series.Values, series.Times, series.Start, series.Projection.String(), &series.Report, false}, nil
		}
		w, err := ingest.OpenWide(name, bytes.NewReader(raw), int64(len(raw)), o)
		wide = err == nil && w.Columns() > 1
	}
	file, err := ingest.Read(name, bytes.NewReader(raw), o)
	if err != nil {
		return nil, err
	}
	sp := file.Spectrum
	return &whole{sp.Axis(), [][]float64{sp.Values()}, []float64{0}, time.Time{}, file.Projection.String(), &file.Report, wide}, nil
}

// settledBy returns only what answers questions, for the next address.
func settledBy(ask url.Values) url.Values {
	out := url.Values{}
	for _, q := range questions {
		if v := ask.Get(q.Name); v != "" {
			out.Set(q.Name, v)
		}
	}
	return out
}
