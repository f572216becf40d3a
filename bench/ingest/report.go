package ingest

import (
	"fmt"
	"strings"
)

// Report is everything the reader found and decided. It marshals to JSON.
type Report struct {
	Format    string   `json:"format"` // text, wide text, TM-27, JSON, or a series' layout: columns over time, rows over time, long table
	Encoding  string   `json:"encoding"`
	Separator string   `json:"separator,omitempty"` // comma, semicolon, tab, pipe or space
	Decimal   string   `json:"decimal,omitempty"`   // point or comma
	FirstLine int      `json:"first_line,omitempty"`
	Rows      int      `json:"rows"` // used
	Skipped   []Skip   `json:"skipped,omitempty"`
	Header    []string `json:"header,omitempty"` // lines of text around the table
	Metadata  []Pair   `json:"metadata,omitempty"`
	Columns   []string `json:"columns,omitempty"` // headings
	Column    int      `json:"column,omitempty"`  // the value column that was read, from 1; 0 where all are
	Spectra   int      `json:"spectra,omitempty"` // of a wide text or a series
	Sheet     string   `json:"sheet,omitempty"`   // of a spreadsheet
	Path      string   `json:"path,omitempty"`    // of the curve in a JSON document

	TimeFormat string  `json:"time_format,omitempty"` // of a series
	Start      string  `json:"start,omitempty"`       // its first time, where the file has dates
	Duration   float64 `json:"duration_s,omitempty"`

	WavelengthUnit string `json:"wavelength_unit"`
	Conversion     string `json:"conversion,omitempty"`
	Reversed       bool   `json:"reversed"` // the wavelengths ran downwards
	Sorted         bool   `json:"sorted"`   // they were out of order
	Merged         int    `json:"merged"`   // repeated rows that agreed
	Gaps           []Gap  `json:"gaps,omitempty"`

	Quantity       string `json:"quantity"`
	Unit           string `json:"unit,omitempty"` // as the file has it
	QuantityFrom   string `json:"quantity_from"`
	Photons        bool   `json:"photons"` // the file counts photons
	Projection     string `json:"projection"`
	ProjectionFrom string `json:"projection_from"`

	From float64 `json:"from_nm"`
	To   float64 `json:"to_nm"`

	Warnings []string `json:"warnings,omitempty"`
}

// Skip is a row that was left out.
type Skip struct {
	Line   int    `json:"line"`
	Reason string `json:"reason"`
}

// Gap is a stretch without samples, more than three times as wide as the usual
// step, in nm.
type Gap struct {
	From float64 `json:"from_nm"`
	To   float64 `json:"to_nm"`
}

func (r *Report) warn(s string) { r.Warnings = append(r.Warnings, s) }

// Sentences says how the file was read, in two or three sentences.
func (r *Report) Sentences() []string {
	var b strings.Builder
	switch r.Format {
	case formatTM27:
		fmt.Fprintf(&b, "IES TM-27 file, %s, %.6g–%.6g nm.", count(r.Rows, "sample"), r.From, r.To)
	case formatJSON:
		b.WriteString("JSON")
		if r.Path != "" {
			fmt.Fprintf(&b, ", the curve at %s", Quote(r.Path))
		}
		fmt.Fprintf(&b, ", %s, %.6g–%.6g nm.", count(r.Rows, "sample"), r.From, r.To)
	default:
		what := "Text"
		switch r.Format {
		case formatWide:
			what = fmt.Sprintf("Text with %s", count(r.Spectra, "column"))
		case formatColumns, formatRows, formatLong:
			what = fmt.Sprintf("Series of %d over %g s, %s (times: %s),", r.Spectra, r.Duration, r.Format, r.TimeFormat)
		}
		if r.Sheet != "" {
			fmt.Fprintf(&b, "%s in the sheet %s of a spreadsheet; %s from row %d on, %.6g–%.6g nm.", what, Quote(r.Sheet), count(r.Rows, "row"), r.FirstLine, r.From, r.To)
			break
		}
		fmt.Fprintf(&b, "%s in %s, columns apart by %s, decimal %s; %s from line %d on, %.6g–%.6g nm.",
			what, r.Encoding, r.Separator, r.Decimal, count(r.Rows, "row"), r.FirstLine, r.From, r.To)
	}
	out := []string{b.String()}
	b.Reset()
	if r.Column > 2 {
		fmt.Fprintf(&b, "Column %d is read, as ", r.Column)
	} else {
		b.WriteString("Values are read as ")
	}
	b.WriteString(r.Quantity)
	if r.Unit != "" {
		fmt.Fprintf(&b, " in %s", r.Unit)
	}
	fmt.Fprintf(&b, " (%s)", r.QuantityFrom)
	if r.Photons {
		b.WriteString(", photons turned into energy")
	}
	if r.Projection == "tabulated" {
		b.WriteString("; samples as a table summed at its own step")
	} else {
		b.WriteString("; samples as a curve, straight between them")
	}
	fmt.Fprintf(&b, " (%s).", r.ProjectionFrom)
	out = append(out, b.String())
	var also []string
	if r.Conversion != "" {
		also = append(also, "Wavelengths: "+r.Conversion+".")
	}
	if r.Reversed {
		also = append(also, "The wavelengths ran downwards and have been turned round.")
	}
	if len(r.Gaps) > 0 {
		also = append(also, fmt.Sprintf("%s wider than three steps, the first %g–%g nm.", count(len(r.Gaps), "gap"), r.Gaps[0].From, r.Gaps[0].To))
	}
	if len(also) > 0 {
		out = append(out, strings.Join(also, " "))
	}
	return out
}

// count writes a number with its noun.
func count(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}
