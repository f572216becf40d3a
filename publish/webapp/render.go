package webapp

import (
	"bytes"
	"context"
	"embed"
	"errors"
	"fmt"
	"html/template"
	"math"
	"net/http"
	"strconv"
	"strings"
	"sync"
	"time"

	"lampassay/bench/ingest"
	"lampassay/bench/notebook"
)

//go:embed templates/*.html
var sources embed.FS

var templates = sync.OnceValue(func() *template.Template {
	return template.Must(template.New("").Funcs(ofField).Funcs(template.FuncMap{
		"static":  func(name string) string { return "/static/" + name + "?" + assets()[name].sum[:12] },
		"when":    func(t time.Time) string { return t.Local().Format("2 January 2006, 15:04") },
		"day":     func(t time.Time) string { return t.Local().Format("2 Jan 2006") },
		"stamp":   func(t time.Time) string { return t.UTC().Format(time.RFC3339) },
		"num":     num,
		"date":    date,
		"words":   func(all []string) string { return strings.Join(all, " ") },
		"written": written,
		"short":   func(s notebook.Sum) string { return string(s[:min(12, len(s))]) },
		"label":   labelOfKey,
		"size":    size,
		"count":   count,
		"said":    sentence,
		"signed":  signed,
		"bound":   bound,
		"some":    some,
		"inc":     func(i int) int { return i + 1 },
		"twice":   func(v float64) float64 { return 2 * v },
		"percent": func(v float64) string { return written(100*v) + "\u00a0%" },
		"mins":    func(s float64) string { return written(s/60) + "\u00a0min" },
	}).ParseFS(sources, "templates/*.html"))
})

// count writes how many there are of something: "1 lamp", "3 lamps".
func count(n any, one, many string) string {
	text := fmt.Sprint(n)
	if text == "1" {
		return "1 " + one
	}
	return text + " " + many
}

// some writes a whole number as a form takes it, nothing for 0.
func some(n int) string {
	if n == 0 {
		return ""
	}
	return strconv.Itoa(n)
}

// num writes a number that may not be known as a form takes it.
func num(v *float64) string {
	if v == nil {
		return ""
	}
	return plain(*v)
}

// date writes a day that may not be known as a form takes it.
func date(d *notebook.Day) string {
	if d == nil {
		return ""
	}
	return d.Format(time.DateOnly)
}

// plain writes a number as a form or an address takes it.
func plain(v float64) string {
	if math.Abs(v) < 1e15 {
		return strconv.FormatFloat(v, 'f', -1, 64)
	}
	return strconv.FormatFloat(v, 'g', -1, 64)
}

// written writes a number as it is read in a sentence or a table: with a true minus,
// and with a power of ten where it would have many noughts.
func written(v float64) string {
	text := strconv.FormatFloat(v, 'f', -1, 64)
	if size := math.Abs(v); size >= 1e7 || size > 0 && size < 1e-4 {
		digits, power, _ := strings.Cut(strconv.FormatFloat(v, 'e', -1, 64), "e")
		text = digits + "\u00a0×\u00a010" + raised(power)
	}
	return strings.Replace(text, "-", "−", 1)
}

// raised writes a whole number as an exponent.
func raised(power string) string {
	n, _ := strconv.Atoi(power)
	return strings.NewReplacer("-", "⁻", "0", "⁰", "1", "¹", "2", "²", "3", "³", "4", "⁴", "5", "⁵", "6", "⁶", "7", "⁷", "8", "⁸", "9", "⁹").Replace(strconv.Itoa(n))
}

// signed writes a thousandth with its sign, a true minus, and no sign for nothing.
func signed(v float64) string {
	if math.Abs(v) < 0.0005 {
		return "0.000"
	}
	return strings.Replace(fmt.Sprintf("%+.3f", v), "-", "−", 1)
}

// bound writes an uncertainty to a thousandth.
func bound(v float64) string {
	if v < 0.0005 {
		return "<0.001"
	}
	return strconv.FormatFloat(v, 'f', 3, 64)
}

func size(n int64) string {
	switch {
	case n < 10_000:
		return fmt.Sprintf("%d bytes", n)
	case n < 10_000_000:
		return fmt.Sprintf("%.0f kB", float64(n)/1000)
	}
	return fmt.Sprintf("%.0f MB", float64(n)/1e6)
}

// view is what every page has.
type view struct {
	Title    string
	Here     string // the part of the navigation it belongs to
	Name     string // of the notebook
	Version  string
	Token    string
	Path     string // where this page is, for the way back
	Seq      int64  // the last change when the page was made
	Guarded  bool   // a password is needed, so there is a way out
	Done     *done
	Form     *form    // that could not be taken, for a page that is shown again; or nil
	Follow   bool     // reload what is marked when the notebook changes
	Styles   []string // further style sheets
	Scripts  []string // further scripts
	MainWide bool
	Data     any
}

// page answers a request, or fails with an error that is shown.
type page func(w http.ResponseWriter, r *http.Request) error

// userError is a fault of the request, with the status that says so.
type userError struct {
	status int
	text   string // a sentence or two
}

func (e *userError) Error() string { return "webapp: " + e.text }

func bad(format string, args ...any) error {
	return &userError{http.StatusUnprocessableEntity, fmt.Sprintf(format, args...)}
}

// serve turns a page into a handler; errors become pages.
func (s *Server) serve(p page) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if err := p(w, r); err != nil {
			s.fail(w, r, err)
		}
	})
}

// accept is serve for what changes something: it reads the form, of at most
// so many bytes, and looks for the token.
func (s *Server) accept(p page, most int64) http.Handler {
	return s.serve(func(w http.ResponseWriter, r *http.Request) error {
		r.Body = http.MaxBytesReader(w, r.Body, most)
		// Files stay in memory: nothing of a request is written to a disk.
		read := r.ParseForm
		if strings.HasPrefix(r.Header.Get("Content-Type"), "multipart/form-data") {
			read = func() error { return r.ParseMultipartForm(most) }
		}
		err := read()
		var large *http.MaxBytesError
		switch {
		case errors.As(err, &large):
			return &userError{http.StatusRequestEntityTooLarge, fmt.Sprintf("That is more than the %s taken at a time.", size(large.Limit))}
		case err != nil:
			return &userError{http.StatusBadRequest, "The form did not arrive whole. Send it again."}
		case !s.guard.carries(r.PostFormValue("token")):
			return &userError{http.StatusForbidden, "This form was made before the program was last started. Go back, load the page again and repeat it."}
		}
		return p(w, r)
	})
}

// fail shows an error as a page: a sentence for whoever has something to decide,
// and nothing of the machine's insides for faults of the machine.
func (s *Server) fail(w http.ResponseWriter, r *http.Request, err error) {
	if r.Context().Err() != nil {
		return // nobody is there any more
	}
	status, text := s.explain(r, err)
	if strings.HasPrefix(r.Header.Get("Accept"), "application/json") {
		http.Error(w, text, status)
		return
	}
	v := s.view(r, "That did not work")
	v.Data = text
	if err := s.write(w, status, "error.html", v); err != nil {
		http.Error(w, text, status)
	}
}

// explain is explained, and notes in the log what the machine is to blame for.
func (s *Server) explain(r *http.Request, err error) (status int, text string) {
	status, text = explained(err)
	switch status {
	case http.StatusInsufficientStorage:
		s.log.Error("the notebook cannot be written", "err", err)
	case http.StatusInternalServerError:
		s.log.Error("a page failed", "method", r.Method, "path", r.URL.Path, "err", err)
	}
	return status, text
}

// explained says an error in a sentence, with the status that goes with it.
func explained(err error) (status int, text string) {
	var user *userError
	var kept *notebook.Error
	var problem *ingest.Problem
	switch {
	case errors.As(err, &user):
		return user.status, user.text
	case errors.As(err, &problem):
		return http.StatusUnprocessableEntity, sentence(problem.Error())
	case errors.As(err, &kept):
		switch kept.Code {
		case notebook.NotFound:
			return http.StatusNotFound, sentence(kept.Text)
		case notebook.Invalid:
			return http.StatusUnprocessableEntity, sentence(kept.Text)
		case notebook.Stale, notebook.Away, notebook.Kept, notebook.Locked:
			return http.StatusConflict, sentence(kept.Text)
		case notebook.Full, notebook.ReadOnly:
			return http.StatusInsufficientStorage, sentence(kept.Text)
		}
	}
	return http.StatusInternalServerError, "Something in the program or the machine failed. What was acknowledged before is kept; the terminal that runs the program says more."
}

// sentence gives a clause of an error a capital and a stop.
func sentence(s string) string {
	for _, wing := range []string{"ingest: ", "notebook: ", "uncertainty: ", "temporal: ", "limits: ", "figure: ", "instrument: ", "spectrum: "} {
		s = strings.TrimPrefix(s, wing)
	}
	s = inWords(s)
	if s == "" {
		return s
	}
	first, _, _ := strings.Cut(s, " ")
	if c := s[0]; c >= 'a' && c <= 'z' && !strings.ContainsAny(first, ".:/") { // the name of a file stays as it is
		s = string(c-'a'+'A') + s[1:]
	}
	if !strings.HasSuffix(s, ".") && !strings.HasSuffix(s, "?") {
		s += "."
	}
	return s
}

// view begins a page.
func (s *Server) view(r *http.Request, title string) *view {
	v := &view{Title: title, Name: s.opt.Name, Version: s.opt.Version, Token: s.guard.token, Guarded: s.guard.hash != nil, Path: r.URL.RequestURI()}
	v.Here, _, _ = strings.Cut(strings.TrimPrefix(r.URL.Path, "/"), "/")
	if v.Done = s.justDone(r); v.Done == nil {
		v.Done = justRecorded(r)
	}
	return v
}

// refused makes a page one that a form was sent to and not taken; the page itself is
// elsewhere than the form went.
func (v *view) refused(f *form, page string) {
	if f != nil {
		v.Form, v.Path, v.Done = f, page, nil
	}
}

// justRecorded reads which reading the page before recorded.
func justRecorded(r *http.Request) *done {
	n, err := strconv.ParseInt(r.URL.Query().Get("recorded"), 10, 64)
	if err != nil || n < 1 || !strings.HasPrefix(r.URL.Path, "/sittings/") {
		return nil
	}
	return &done{Text: fmt.Sprintf("Reading %d is recorded.", n), Strike: r.URL.Path + "/strike", N: n}
}

// latest is the number of the last change.
func (s *Server) latest(ctx context.Context) int64 {
	at, cancel := context.WithCancel(ctx)
	defer cancel()
	seq, err := s.nb.Watch(at, -1)
	if err != nil {
		return 0
	}
	return seq
}

// show writes a page.
func (s *Server) show(w http.ResponseWriter, name string, v *view) error {
	return s.write(w, http.StatusOK, name, v)
}

func (s *Server) write(w http.ResponseWriter, status int, name string, v *view) error {
	var b bytes.Buffer
	if err := templates().ExecuteTemplate(&b, name, v); err != nil {
		return fmt.Errorf("webapp: %s: %w", name, err)
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	_, err := b.WriteTo(w)
	if err != nil {
		s.log.Debug("an answer did not arrive", "err", err)
	}
	return nil
}

// idOf reads the number in a page's address.
func idOf(r *http.Request) (notebook.ID, error) { return parseID(r.PathValue("id")) }

func parseID(text string) (notebook.ID, error) {
	n, err := strconv.ParseInt(text, 10, 64)
	if err != nil || n < 1 {
		return 0, &userError{http.StatusNotFound, "There is no such page."}
	}
	return notebook.ID(n), nil
}

func (s *Server) nowhere(http.ResponseWriter, *http.Request) error {
	return &userError{http.StatusNotFound, "There is no such page."}
}
