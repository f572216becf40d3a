package webapp

import (
	"math"
	"net/http"
	"strconv"
	"strings"
	"time"

	"lampassay/bench/notebook"
)

// form reads the fields of a form and keeps the first fault.
type form struct {
	r   *http.Request
	err error
}

func newForm(r *http.Request) *form { return &form{r: r} }

func (f *form) fault(err error) {
	if f.err == nil {
		f.err = err
	}
}

// text returns a field without outer spaces.
func (f *form) text(name string) string {
	return strings.TrimSpace(strings.ReplaceAll(f.r.PostFormValue(name), "\r\n", "\n"))
}

// number returns a number, written with a point or a comma; nil for an empty
// field.
func (f *form) number(name, what string) *float64 {
	text := f.text(name)
	if text == "" {
		return nil
	}
	v, err := parseNumber(text)
	if err != nil {
		f.fault(bad("%q is no number for %s.", clip(text, 40), what))
		return nil
	}
	return &v
}

// parseNumber reads what a person writes: 1234.5, 1234,5, −3, 2e-4.
func parseNumber(text string) (float64, error) {
	text = strings.NewReplacer("−", "-", "\u00a0", "", "\u202f", "", " ", "").Replace(text)
	if strings.Count(text, ",") == 1 && !strings.Contains(text, ".") {
		text = strings.Replace(text, ",", ".", 1)
	}
	v, err := strconv.ParseFloat(text, 64)
	if err == nil && (math.IsNaN(v) || math.IsInf(v, 0)) {
		err = strconv.ErrRange
	}
	return v, err
}

// whole returns a whole number, 0 for an empty field.
func (f *form) whole(name, what string) int64 {
	text := f.text(name)
	if text == "" {
		return 0
	}
	n, err := strconv.ParseInt(text, 10, 64)
	if err != nil {
		f.fault(bad("%q is no whole number for %s.", clip(text, 40), what))
	}
	return n
}

// revision is the revision of the record that the form was made from.
func (f *form) revision() int64 { return f.whole("revision", "the revision") }

// id is the number of a record, 0 for an empty field.
func (f *form) id(name string) notebook.ID { return notebook.ID(f.whole(name, "a record")) }

// day returns a day, nil for an empty field.
func (f *form) day(name string) *notebook.Day {
	text := f.text(name)
	if text == "" {
		return nil
	}
	t, err := time.Parse(time.DateOnly, text)
	if err != nil {
		f.fault(bad("%q is no day: write it as 2026-11-25.", clip(text, 40)))
		return nil
	}
	return &notebook.Day{Time: t}
}
