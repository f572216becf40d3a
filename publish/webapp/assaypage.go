package webapp

import (
	"bytes"
	"context"
	"fmt"
	"html"
	"html/template"
	"net/http"
	"slices"
	"strings"

	"lampassay/assay"
	"lampassay/assay/quantity"
	"lampassay/bench/evidence"
	"lampassay/bench/notebook"
	"lampassay/publish/sheet"
)

type assayView struct {
	Assay   *notebook.Assay
	Lamp    *notebook.Lamp
	Sitting *notebook.Sitting
	Sheet   template.HTML
	Shown   bool        // on the shelf
	From    [][2]string // what it was made from, and how
	// Published is where it went out.
	Published []*notebook.Publication
	// Invented marks a lamp that nobody has.
	Invented bool
	// Older says which method version made the kept record, where it is not the
	// one that draws this page.
	Older string
}

func (s *Server) assayAsked(r *http.Request) (*notebook.Assay, error) {
	id, err := idOf(r)
	if err != nil {
		return nil, err
	}
	return s.nb.Assays().Get(r.Context(), id)
}

// assay shows the sheet of an assay and where it comes from.
func (s *Server) assay(w http.ResponseWriter, r *http.Request) error {
	a, err := s.assayAsked(r)
	if err != nil {
		return err
	}
	ctx := r.Context()
	d := assayView{Assay: a}
	if d.Lamp, err = s.nb.Lamps().Get(ctx, a.Lamp); err != nil {
		return err
	}
	if a.Sitting != 0 {
		if d.Sitting, err = s.nb.Sittings().Get(ctx, a.Sitting); err != nil {
			return err
		}
	}
	if d.Published, err = s.publishedWith(ctx, a.ID); err != nil {
		return err
	}
	f, err := s.fragmentOf(ctx, a)
	if err != nil {
		return err
	}
	d.Sheet, d.Shown = f.HTML, d.Lamp.PrimaryAssay == a.ID
	if m := a.Methods[methodAssay]; m != assay.MethodVersion {
		d.Older = m
	}
	d.From, d.Invented = provenance(a, s.spectraIn(ctx, a)), slices.Contains(d.Lamp.Tags, inventedTag)
	v := s.view(r, d.Lamp.Name+", assay "+fmt.Sprint(a.ID))
	v.Here, v.Data = "", &d
	v.Styles = []string{fmt.Sprintf("/assays/%d/colours.css?%d", a.ID, d.Lamp.Revision)}
	return s.show(w, "assay.html", v)
}

// provenance says what an assay was made from, and how.
// of are the numbers of its spectra, where they are known.
func provenance(a *notebook.Assay, of []int64) (facts [][2]string) {
	for _, in := range a.Inputs {
		name := in.What
		if def, err := quantity.ByKey(name); err == nil {
			name = def.Name
		}
		text := fmt.Sprintf("reading %d, chain %.12s…", in.To, in.SHA256)
		switch {
		case in.From == 0:
			text = fmt.Sprintf("%s, SHA-256 %.12s…", fileOf(a, in.SHA256), in.SHA256)
		case in.To > in.From && in.What == inputSpectrum && len(of) > 0:
			text = fmt.Sprintf("readings %s, chain %.12s…", runsOf(of, in.From, in.To), in.SHA256)
		case in.To > in.From:
			text = fmt.Sprintf("readings %d to %d, chain %.12s…", in.From, in.To, in.SHA256)
		}
		facts = append(facts, [2]string{name, text})
	}
	for _, m := range []struct {
		key, name string
		words     []choice
	}{
		{methodAssay, "method version", nil}, {evidence.MethodProjection, "samples are", projections},
		{evidence.MethodClass, "spectrometer", spectrometerClasses()}, {evidence.MethodRoute, "luminous flux by", fluxRoutes()},
		{evidence.MethodMeter, "power by", powerMeters()}, {evidence.MethodPowerAt, "power read at", powersAt},
		{evidence.MethodExposure, "exposure, ms", nil}, {evidence.MethodDistance, "distance, m", nil},
	} {
		if v := a.Methods[m.key]; v != "" {
			facts = append(facts, [2]string{m.name, worded(m.words, v)})
		}
	}
	return facts
}

// spectraIn are the numbers of the readings that an assay's spectrum is a mean of, nil
// where it is none or they cannot be found any more.
func (s *Server) spectraIn(ctx context.Context, a *notebook.Assay) []int64 {
	several := func(in notebook.Input) bool { return in.What == inputSpectrum && in.To > in.From }
	if !slices.ContainsFunc(a.Inputs, several) {
		return nil
	}
	e, err := s.evidenceOf(ctx, a)
	if err != nil {
		return nil
	}
	return e.Readings
}

// runsOf writes the numbers from one to another that are among all, in their order:
// "5, 7–10".
func runsOf(all []int64, from, to int64) string {
	var runs []string
	for i := 0; i < len(all); i++ {
		first := all[i]
		if first < from || first > to {
			continue
		}
		for i+1 < len(all) && all[i+1] == all[i]+1 && all[i+1] <= to {
			i++
		}
		text := fmt.Sprint(first)
		if all[i] > first {
			text += fmt.Sprintf("–%d", all[i])
		}
		runs = append(runs, text)
	}
	return strings.Join(runs, ", ")
}

// fileOf is the name of a file that an assay was made with.
func fileOf(a *notebook.Assay, sum notebook.Sum) string {
	for _, f := range a.Files {
		if f.SHA256 == sum {
			return f.Name
		}
	}
	return "a file"
}

// assayColours is the style sheet with the colours of a lamp's own light.
func (s *Server) assayColours(w http.ResponseWriter, r *http.Request) error {
	a, err := s.assayAsked(r)
	if err != nil {
		return err
	}
	f, err := s.fragmentOf(r.Context(), a)
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", "text/css; charset=utf-8")
	_, err = fmt.Fprintf(w, ":root { --own: %s; --accent: light-dark(%s, %s); }\n", f.Mark, f.Light, f.Dark)
	return ignoreGone(err)
}

// ignoreGone drops the error of a browser that went away.
func ignoreGone(error) error { return nil }

// assayRecord hands out the JSON record as it was kept.
func (s *Server) assayRecord(w http.ResponseWriter, r *http.Request) error {
	a, err := s.assayAsked(r)
	if err != nil {
		return err
	}
	return deliver(w, fmt.Sprintf("assay-%d.json", a.ID), "application/json", append(a.Record, '\n'))
}

// assaySpectrum hands out the spectrum as TM-27.
func (s *Server) assaySpectrum(w http.ResponseWriter, r *http.Request) error {
	a, err := s.assayAsked(r)
	if err != nil {
		return err
	}
	if a.Spectrum == nil {
		return &userError{http.StatusNotFound, "This assay keeps no spectrum."}
	}
	raw, err := s.nb.File(r.Context(), a.Spectrum.SHA256)
	if err != nil {
		return err
	}
	return deliver(w, fmt.Sprintf("assay-%d.spdx", a.ID), "application/xml", raw)
}

// assaySheet serves the sheet that stands alone: a page to be kept or passed on,
// with its own policy, which lets it do nothing.
func (s *Server) assaySheet(w http.ResponseWriter, r *http.Request) error {
	a, err := s.assayAsked(r)
	if err != nil {
		return err
	}
	lamp, err := s.assayedOf(r.Context(), a)
	if err != nil {
		return err
	}
	var b bytes.Buffer
	l, err := s.nb.Lamps().Get(r.Context(), a.Lamp)
	if err != nil {
		return err
	}
	if err := sheet.Write(&b, lamp, sheet.Options{Version: s.opt.Version, Invented: slices.Contains(l.Tags, inventedTag)}); err != nil {
		return err
	}
	_, rest, _ := strings.Cut(b.String(), `http-equiv="Content-Security-Policy" content="`)
	own, _, found := strings.Cut(rest, `"`)
	if !found {
		return fmt.Errorf("webapp: the sheet has no policy")
	}
	w.Header().Set("Content-Security-Policy", html.UnescapeString(own)+"; frame-ancestors 'none'")
	return deliver(w, fileName(lamp.Name)+".html", "text/html; charset=utf-8", b.Bytes())
}

// assayChoose puts an assay on the shelf in place of the lamp's latest, or gives
// the place back.
func (s *Server) assayChoose(w http.ResponseWriter, r *http.Request) error {
	a, err := s.assayAsked(r)
	if err != nil {
		return err
	}
	l, err := s.nb.Lamps().Get(r.Context(), a.Lamp)
	if err != nil {
		return err
	}
	l.PrimaryAssay = a.ID
	if r.PostFormValue("latest") != "" {
		l.PrimaryAssay = 0
	}
	kept, err := s.nb.Lamps().Update(r.Context(), *l)
	if err != nil {
		return err
	}
	return back(w, r, lampPath(l.ID), kept.Revision)
}

// deliver hands out a file to be saved.
func deliver(w http.ResponseWriter, name, media string, body []byte) error {
	h := w.Header()
	h.Set("Content-Type", media)
	h.Set("Content-Disposition", fmt.Sprintf("attachment; filename=%q", name))
	_, err := w.Write(body)
	return ignoreGone(err)
}

// fileName makes a name of letters and digits for a file that is handed out.
func fileName(name string) string {
	var b strings.Builder
	for _, c := range strings.ToLower(name) {
		switch {
		case c >= 'a' && c <= 'z', c >= '0' && c <= '9':
			b.WriteRune(c)
		case b.Len() > 0 && !strings.HasSuffix(b.String(), "-"):
			b.WriteByte('-')
		}
	}
	if out := strings.Trim(b.String(), "-"); out != "" {
		return out
	}
	return "lamp"
}
