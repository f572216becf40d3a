package cli

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"strconv"
	"strings"
	"unicode/utf8"

	"lampassay/assay"
	"lampassay/assay/quantity"
)

// viewWidth is the width the terminal view is set for: what a screenshot shows.
const viewWidth = 112

// view writes one result for reading: a page one would screenshot.
type view struct {
	w   io.Writer
	err error
}

func (v *view) printf(format string, args ...any) {
	if v.err == nil {
		_, v.err = fmt.Fprintf(v.w, format, args...)
	}
}

// emit writes an answer: its record as JSON, or the text for reading.
func emit(w io.Writer, asJSON bool, record any, text func(*view)) error {
	out := bufio.NewWriter(w)
	if asJSON {
		if err := json.NewEncoder(out).Encode(record); err != nil {
			return err
		}
		return out.Flush()
	}
	v := &view{w: out}
	text(v)
	if v.err != nil {
		return v.err
	}
	return out.Flush()
}

// rounded returns a value with so many significant digits. docs/format/json.md says
// how many a record prints.
func rounded(v float64, digits int) float64 {
	r, _ := strconv.ParseFloat(strconv.FormatFloat(v, 'g', digits, 64), 64) // it cannot fail on what was just written
	return r
}

// figures is rounded, nil for what JSON cannot hold.
func figures(v float64, digits int) *float64 { return number(rounded(v, digits)) }

// writeView writes the head, every group of quantities, findings and warnings.
func writeView(w io.Writer, title, strip string, reading []string, r *assay.Result, warnings []string, only []quantity.ID) error {
	v := &view{w: w}
	v.printf("%s\n", title)
	if strip != "" {
		v.printf("%s\n", strip)
	}
	for _, s := range reading {
		v.wrapped("", s, "")
	}
	if only != nil {
		v.printf("\n")
		v.rows(r, only)
		v.sureness(r)
		return v.err
	}
	for _, g := range quantity.Groups() {
		v.group(g, r)
	}
	if f := r.Findings(); len(f) > 0 {
		v.printf("\nFindings\n")
		for _, f := range f {
			v.wrapped("  "+pad(f.Topic, 20), f.Text, f.Source)
		}
	}
	if w := append(append([]string(nil), warnings...), r.Warnings()...); len(w) > 0 {
		v.printf("\nBefore you rely on this\n")
		for _, s := range w {
			v.wrapped("  ! ", s, "")
		}
	}
	v.printf("\n“–” means not defined or not measured, “( )” outside the method's scope, where no uncertainty is stated.\n")
	v.sureness(r)
	return v.err
}

// group writes one group: its single quantities a line each, its numbered runs
// as small tables.
func (v *view) group(g quantity.Group, r *assay.Result) {
	var ids []quantity.ID
	for _, d := range quantity.All() {
		if d.Group == g && !d.Detail && !inRun(d.ID) {
			ids = append(ids, d.ID)
		}
	}
	v.printf("\n%s\n", g)
	v.rows(r, ids)
	switch g {
	case quantity.CRI:
		v.run(r, "", 1, 14, quantity.R)
	case quantity.Fidelity:
		v.printf("  %s%s\n", pad("hue bin", 10), numbers(1, 16))
		v.run(r, "Rf,h", 1, 16, quantity.RfHue)
		v.run(r, "Rcs,h %", 1, 16, quantity.RcsHue)
		v.run(r, "Rhs,h", 1, 16, quantity.RhsHue)
	}
}

// runWidth is the width of a cell in a numbered run.
const runWidth = 6

// inRun reports whether a quantity belongs to a numbered run.
func inRun(id quantity.ID) bool { return id >= quantity.R(1) }

// rows writes quantities a line each, values aligned on the decimal point.
// Reasons that several neighbours share are given once.
func (v *view) rows(r *assay.Result, ids []quantity.ID) {
	last := ""
	for _, id := range ids {
		d := quantity.Get(id)
		reading := r.Reading(id)
		value, unit := reading.Value, ""
		if _, ok := r.Value(id); ok {
			unit = d.ReadingUnit()
			if unit == "1" {
				unit = ""
			}
			if !r.InScope(id) {
				value = "(" + value + ")"
			}
		}
		whole, frac := splitDecimal(value)
		v.printf("  %s%s%s%s%s%s%s\n", pad(d.Symbol, 11), pad(d.Name, 52), padLeft(whole, 6), column(frac, 7), column(reading.Plus, 10), pad(unit, 8), shortSource(d.Source))
		if reading.Interval != "" {
			v.printf("  %s95 %%: %s\n", pad("", 11), reading.Interval)
		}
		why := r.Why(id)
		if why != "" && why != last {
			v.wrapped(pad("", 13), why, "")
		}
		last = why
	}
}

// run writes a numbered run as cells of one line.
func (v *view) run(r *assay.Result, label string, from, to int, id func(int) quantity.ID) {
	if _, ok := r.Value(id(from)); !ok {
		return // the reason stands with the index above it
	}
	if label == "" {
		v.printf("  %s%s\n", pad("sample", 10), numbers(from, to))
		label = "R"
	}
	if !r.InScope(id(from)) {
		label = "(" + label + ")"
	}
	var b strings.Builder
	var plus strings.Builder
	for i := from; i <= to; i++ {
		x, _ := r.Value(id(i))
		b.WriteString(padLeft(quantity.Get(id(i)).Format(x), runWidth))
		plus.WriteString(padLeft(halfOf(r, id(i)), runWidth))
	}
	v.printf("  %s%s\n", pad(label, 10), b.String())
	if r.Spread(id(from)) != nil {
		v.printf("  %s%s\n", pad("95 %: ±", 10), plus.String())
	}
}

func numbers(from, to int) string {
	var b strings.Builder
	for i := from; i <= to; i++ {
		b.WriteString(padLeft(fmt.Sprint(i), runWidth))
	}
	return b.String()
}

// wrapped writes text after a label, folded to the width with the label's
// indentation, the source behind it.
func (v *view) wrapped(label, text, source string) {
	if source != "" {
		text += " [" + source + "]"
	}
	indent := strings.Repeat(" ", utf8.RuneCountInString(label))
	line := label
	for i, word := range strings.Fields(text) {
		if i > 0 && utf8.RuneCountInString(line)+1+utf8.RuneCountInString(word) > viewWidth {
			v.printf("%s\n", line)
			line = indent + word
			continue
		}
		if i > 0 {
			line += " "
		}
		line += word
	}
	v.printf("%s\n", line)
}

// splitDecimal splits a number before its decimal point; a bracket that opens
// stays with the whole part.
func splitDecimal(s string) (whole, frac string) {
	i := strings.IndexByte(s, '.')
	if i < 0 {
		i = strings.IndexByte(s, ')')
	}
	if i < 0 {
		return s, ""
	}
	return s[:i], s[i:]
}

// shortSource drops what a line has no room for: the second of two sources.
func shortSource(s string) string {
	first, _, _ := strings.Cut(s, ";")
	return first
}

// column fills up as pad does, and ends in a space however long the text is.
func column(s string, width int) string { return pad(s, max(width, utf8.RuneCountInString(s)+1)) }

// pad fills up with spaces on the right, counting characters.
func pad(s string, width int) string {
	return s + strings.Repeat(" ", max(0, width-utf8.RuneCountInString(s)))
}

// padLeft fills up with spaces on the left.
func padLeft(s string, width int) string {
	return strings.Repeat(" ", max(0, width-utf8.RuneCountInString(s))) + s
}
