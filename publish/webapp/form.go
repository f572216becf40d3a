package webapp

import (
	"cmp"
	"fmt"
	"math"
	"net/http"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"lampassay/bench/notebook"
)

// form reads the fields of a form and collects what is wrong with them. A form that
// cannot be taken is shown again as it was sent, with a sentence beside each field
// at fault: [Server.again].
type form struct {
	r      *http.Request
	name   string // tells it from the other forms of its page
	faults []fault
	stale  bool  // the record was changed since the page was made
	err    error // the first fault
}

// fault is what is wrong with a field, or with the whole form where it names none.
type fault struct {
	Field string
	Text  string // a sentence: what was found, and what would do
}

// newForm reads a form whose page is not shown again: it has nothing that a person
// wrote.
func newForm(r *http.Request) *form { return formOf(r, "") }

// formOf reads the form of this name.
func formOf(r *http.Request, name string) *form { return &form{r: r, name: name} }

// wrong notes what is wrong with a field, once for each.
func (f *form) wrong(field, format string, args ...any) {
	for _, had := range f.faults {
		if had.Field == field && field != "" {
			return
		}
	}
	one := fault{field, fmt.Sprintf(format, args...)}
	f.faults = append(f.faults, one)
	if f.err == nil {
		f.err = bad("%s", one.Text)
	}
}

// again decides what becomes of a form that was not taken. Where the fault is in
// what was sent, its page is shown once more with all that was written; any other
// error is returned.
func (s *Server) again(f *form, err error, page func(status int) error) error {
	if err == nil || err == f.err {
		return page(http.StatusUnprocessableEntity)
	}
	status, text := explained(err)
	if status != http.StatusUnprocessableEntity && status != http.StatusConflict {
		return err
	}
	f.stale = notebook.CodeOf(err) == notebook.Stale
	f.wrong("", "%s", text)
	return page(status)
}

// text returns a field without outer spaces. What cannot be seen has no place in it: it
// is left out of what is returned, and the field is at fault.
func (f *form) text(name string) string {
	text := strings.ReplaceAll(f.r.PostFormValue(name), "\r\n", "\n")
	seen := strings.Map(func(c rune) rune {
		if unicode.IsControl(c) && c != '\n' && c != '\t' || c == utf8.RuneError {
			return -1
		}
		return c
	}, text)
	if seen != text {
		f.wrong(name, "There are characters in this that cannot be seen or read, such as a NUL: write it again without them.")
	}
	if n := utf8.RuneCountInString(seen); n > mostText {
		f.wrong(name, "This is %d characters long: up to %d are kept here. Longer texts can be attached as a file.", n, mostText)
	}
	return strings.TrimSpace(seen)
}

// mostText is how long a text may be, and mostName how long what stands in lists, in
// characters.
const (
	mostText = 20_000
	mostName = 200
)

// titled is text that stands in lists: a name or a title, of one line.
func (f *form) titled(name string) string {
	text := strings.Join(strings.Fields(f.text(name)), " ")
	if n := utf8.RuneCountInString(text); n > mostName {
		f.wrong(name, "This name is %d characters long: up to %d have room in lists.", n, mostName)
	}
	return text
}

// named is titled for a field that has to be there, or else is answered with a
// sentence.
func (f *form) named(name, without string) string {
	text := f.titled(name)
	if text == "" {
		f.wrong(name, "%s", without)
	}
	return text
}

// needed is text for a field that has to be there, or else is answered with a
// sentence.
func (f *form) needed(name, without string) string {
	text := f.text(name)
	if text == "" {
		f.wrong(name, "%s", without)
	}
	return text
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
		f.wrong(name, "“%s” is no number for %s: write it as 24.5 or 24,5.", clip(text, 40), what)
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
		f.wrong(name, "“%s” is no whole number for %s: write it as 12.", clip(text, 40), what)
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
		f.wrong(name, "“%s” is no day: write it as 2026-11-25.", clip(text, 40))
		return nil
	}
	return &notebook.Day{Time: t}
}

// sentFile is the label of the file that was sent in a field, "" for none. A
// browser does not send it back, so it has to be chosen again.
func (f *form) sentFile(name string) string {
	if f.r.MultipartForm == nil {
		return ""
	}
	for _, head := range f.r.MultipartForm.File[name] {
		if head.Filename != "" {
			return cmp.Or(labelOf(head.Filename), "a file")
		}
	}
	return ""
}
