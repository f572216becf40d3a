package webapp

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"lampassay/assay/uncertainty"
	"lampassay/bench/evidence"
	"lampassay/bench/notebook"
	"lampassay/light/spectrum"
)

// assayForm is what can be settled about an assay of a sitting.
type assayForm struct {
	Spectra     []choice // of which spectra
	From        string   // the first of them
	Unlit       string   // that the latest spectrum is one without the lamp's light; "" where it is not
	Instruments []choice // whose file corrects raw counts; nil where the spectrum is none
	Instrument  string   // the first of them
	Dark        string   // the reading that looks like the dark of the counts; "" for none
	Note        string   // what an instrument's file has to do with the spectrum; "" for nothing
	Usual       evidence.Terms
	Classes     []choice
	Routes      []choice
	Meters      []choice
	Projections []choice
}

// assayFormOf finds out what can be settled; nil where there is no spectrum.
func (s *Server) assayFormOf(ctx context.Context, sit *notebook.Sitting) (*assayForm, error) {
	c, err := s.choices(ctx, sit)
	if err != nil || c.Latest == nil {
		return nil, err
	}
	d := &assayForm{
		Usual: evidence.Usual(sit), Spectra: spectraChoices(c),
		Classes: spectrometerClasses(), Routes: fluxRoutes(), Meters: powerMeters(),
		Projections: append([]choice{{"", "as their wavelengths suggest"}}, projections...),
	}
	if d.From = d.Spectra[0].Value; c.Lit > 0 {
		d.Unlit = fmt.Sprintf("The latest spectrum, reading %d, holds next to none of the light of those before it: it looks like one of the lamp switched off. Reading %d is the last with light.", c.Latest.N, c.Lit)
	}
	q, err := spectrum.ParseQuantity(c.Latest.Curve.Quantity)
	switch names := namesOf(c.Instruments); {
	case err != nil:
	case q != spectrum.Counts && len(names) > 0:
		d.Note = fmt.Sprintf("The latest spectrum is %s, and no raw counts: the file of %s is not applied to it again, and how sure it is comes from the class.", quantityInWords(q), strings.Join(names, " and "))
	case q == spectrum.Counts && len(names) == 0:
		d.Note = "The latest spectrum is raw counts, and no spectrometer of this sitting has a file of its own. Its colours will be those that the bare detector sees: calibrate the spectrometer under Instruments first."
	case q == spectrum.Counts:
		for _, in := range c.Instruments {
			d.Instruments = append(d.Instruments, choice{fmt.Sprint(in.ID), "corrected by the file of " + in.Name})
		}
		d.Instrument = d.Instruments[0].Value
		if c.Lit > 0 {
			d.Dark = strconv.FormatInt(c.Latest.N, 10)
		}
		d.Instruments = append(d.Instruments, choice{"0", "taken as they are, by the bare detector"})
		d.Note = "The instrument’s file brings its axis, response and stray light, and says how sure they are; the class stands for what it does not tell."
	}
	return d, nil
}

// choices are what an assay can be made from, by the spectra that the page follows.
func (s *Server) choices(ctx context.Context, sit *notebook.Sitting) (*evidence.Choices, error) {
	record := s.courses.at(s.nb, sit.ID)
	if _, err := record.Extend(ctx); err != nil {
		return nil, err
	}
	if len(record.Spectra("")) == 0 {
		return &evidence.Choices{}, nil // and none need be looked for
	}
	return evidence.Choose(ctx, s.nb, sit, record.Spectra)
}

// quantityInWords is a quantity with its unit where it has one.
func quantityInWords(q spectrum.Quantity) string {
	if q.Absolute() {
		return fmt.Sprintf("spectral %s in %s", q, q.Unit())
	}
	return q.String()
}

func namesOf(all []*notebook.Instrument) (names []string) {
	for _, in := range all {
		names = append(names, in.Name)
	}
	return names
}

// projections are what the samples of a spectrum can be.
var projections = []choice{{"sampled", "an instrument’s curve"}, {"tabulated", "a published table"}}

func spectrometerClasses() []choice { return choicesOf(uncertainty.SpectrometerClasses()) }
func fluxRoutes() []choice          { return choicesOf(uncertainty.FluxClasses()) }
func powerMeters() []choice         { return choicesOf(uncertainty.PowerClasses()) }

// worded is a kept key in the words of its list, and itself where the list has none.
func worded(all []choice, key string) string {
	for _, c := range all {
		if c.Value == key {
			return c.Label
		}
	}
	return key
}

func choicesOf(classes []uncertainty.Class) (all []choice) {
	for _, c := range classes {
		all = append(all, choice{c.Name, c.About})
	}
	return all
}

// sinceMark asks for the mean of all spectra since the latest mark.
const sinceMark = "mark"

// spectraChoices are the spectra and the means that can be taken. Of a lamp that was
// recorded after it was switched off they are those up to the last with light, and the
// dark one comes last.
func spectraChoices(c *evidence.Choices) []choice {
	latest := choice{"1", fmt.Sprintf("the latest spectrum, reading %d", c.Latest.N)}
	if c.Lit == 0 {
		return append([]choice{latest}, meansOf(c, "latest")...)
	}
	all := append([]choice{{"1", fmt.Sprintf("the last lit spectrum, reading %d", c.Lit)}}, meansOf(c, "last lit")...)
	for i := range all {
		all[i].Value += fmt.Sprintf("@%d", c.Lit)
	}
	latest.Label += ", without light"
	return append(all, latest)
}

// meansOf are the means that can be taken of the spectra that are so called.
func meansOf(c *evidence.Choices, called string) (all []choice) {
	if c.Spectra < uncertainty.FewestRepeats {
		return nil
	}
	for _, n := range []int{uncertainty.FewestRepeats, 6, 8, 12, 16, 24, 32, 64} {
		if n < c.Spectra {
			all = append(all, choice{strconv.Itoa(n), fmt.Sprintf("the mean of the %s %d", called, n)})
		}
	}
	whole := fmt.Sprintf("the mean of all %d %s", c.Spectra, c.Since)
	switch {
	case c.Spectra == evidence.MostSpectra:
		whole = fmt.Sprintf("the mean of the %s %d", called, c.Spectra)
	case c.Lit > 0:
		whole += fmt.Sprintf(" up to reading %d", c.Lit)
	}
	all = append(all, choice{strconv.Itoa(c.Spectra), whole})
	if c.Marked >= uncertainty.FewestRepeats && c.Marked < c.Spectra {
		all = append(all, choice{sinceMark, fmt.Sprintf("the mean of all %d %s", c.Marked, c.Mark)})
	}
	return all
}

// spectraOf reads one of [spectraChoices].
func spectraOf(f *form, ask *evidence.Ask) {
	which, upto, bounded := strings.Cut(f.text("spectra"), "@")
	n, err := strconv.ParseInt(upto, 10, 64)
	if bounded && (err != nil || n < 1) {
		f.wrong("spectra", "“%s” names no spectra of this sitting: choose from the list.", clip(f.text("spectra"), 40))
		return
	}
	ask.Upto = n
	switch k, err := strconv.Atoi(which); {
	case which == sinceMark:
		ask.Spectra = evidence.SinceMark
	case which == "":
	case err != nil:
		f.wrong("spectra", "“%s” is no whole number for spectra to average: choose from the list.", clip(which, 40))
	default:
		ask.Spectra = k
	}
}

// assayMake computes the assay of a sitting as its form says.
func (s *Server) assayMake(w http.ResponseWriter, r *http.Request) error {
	sit, err := s.sittingAsked(r)
	if err != nil {
		return err
	}
	f := formOf(r, "assay")
	ask, err := s.asked(r.Context(), sit, f)
	var a *notebook.Assay
	if err == nil {
		a, err = s.makeAssay(r.Context(), sit, ask)
	}
	if err != nil {
		return s.again(f, err, func(status int) error { return s.showSitting(w, r, status, sit, f) })
	}
	return back(w, r, fmt.Sprintf("/assays/%d", a.ID), a.Revision)
}

func (s *Server) makeAssay(ctx context.Context, sit *notebook.Sitting, ask evidence.Ask) (*notebook.Assay, error) {
	e, err := evidence.Gather(ctx, s.nb, sit, ask)
	if err != nil {
		return nil, err
	}
	return s.keepAssay(ctx, sit, e)
}

// asked reads what an assay is to be made from. A file is kept as it arrives.
func (s *Server) asked(ctx context.Context, sit *notebook.Sitting, f *form) (ask evidence.Ask, err error) {
	ask.Terms = evidence.Usual(sit)
	for name, to := range map[string]*string{"class": &ask.Terms.Class, "route": &ask.Terms.Route, "meter": &ask.Terms.Meter, "projection": &ask.Terms.Projection} {
		if text := f.text(name); text != "" {
			*to = text
		}
	}
	spectraOf(f, &ask)
	ask.Instrument = f.id("instrument")
	var ok bool
	if ask.DarkFrom, ask.DarkTo, ok = readingsIn(f.text("dark")); !ok {
		f.wrong("dark", "“%s” names no readings: write the number of one, as 12, or of several that follow one another, as 12–15.", clip(f.text("dark"), 40))
	}
	if ms := f.number("exposure_ms", "the exposure"); ms != nil {
		if ask.Terms.ExposureMs = *ms; *ms <= 0 {
			f.wrong("exposure_ms", "An exposure of %s ms cannot be: give a number above 0, or nothing where the recordings tell it.", written(*ms))
		}
	}
	if f.err != nil {
		return ask, f.err
	}
	if ask.DarkFile, err = s.keepUpload(ctx, f.r, "dark_file"); err != nil {
		return ask, err
	}
	ask.SittingFile, err = s.keepUpload(ctx, f.r, "sitting_file")
	return ask, err
}

// readingsIn reads the numbers of one reading, or of the first and the last of
// several: 12, 12–15, 12 to 15. Both are 0 where there is no text.
func readingsIn(text string) (from, to int64, ok bool) {
	if text == "" {
		return 0, 0, true
	}
	first, last, several := strings.Cut(strings.NewReplacer("–", "-", "−", "-", "to", "-").Replace(text), "-")
	if !several {
		last = first
	}
	from, err1 := strconv.ParseInt(strings.TrimSpace(first), 10, 64)
	to, err2 := strconv.ParseInt(strings.TrimSpace(last), 10, 64)
	return from, to, errors.Join(err1, err2) == nil && from >= 1 && to >= from
}

// keepUpload keeps the file of a field, nil where none was sent.
func (s *Server) keepUpload(ctx context.Context, r *http.Request, field string) (*notebook.Attachment, error) {
	if r.MultipartForm == nil || len(r.MultipartForm.File[field]) == 0 {
		return nil, nil
	}
	head := r.MultipartForm.File[field][0]
	f, err := head.Open()
	if err != nil {
		return nil, fmt.Errorf("webapp: %s: %w", field, err)
	}
	kept, err := s.nb.Keep(ctx, labelOf(head.Filename), "application/octet-stream", f)
	return &kept, errors.Join(err, f.Close())
}
