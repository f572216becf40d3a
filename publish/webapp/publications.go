package webapp

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	"lampassay/bench/notebook"
)

func publicationPath(id notebook.ID) string { return fmt.Sprintf("/publications/%d", id) }

// publications lists what went out.
func (s *Server) publications(w http.ResponseWriter, r *http.Request) error {
	all, err := s.publicationsOf(r.Context(), notebook.Query{}, func(*notebook.Publication) bool { return true })
	if err != nil {
		return err
	}
	v := s.view(r, "Published")
	v.Here, v.Follow, v.Seq, v.Data = "settings", true, s.latest(r.Context()), all
	return s.show(w, "publications.html", v)
}

// publicationsOf are those that a test takes, the last published first.
func (s *Server) publicationsOf(ctx context.Context, q notebook.Query, take func(*notebook.Publication) bool) ([]*notebook.Publication, error) {
	all, err := s.nb.Publications().List(ctx, q)
	if err != nil {
		return nil, err
	}
	taken := slices.DeleteFunc(all.Items, func(p *notebook.Publication) bool { return !take(p) })
	slices.SortStableFunc(taken, func(a, b *notebook.Publication) int { return b.Made.Compare(a.Made) })
	return taken, nil
}

// publishedWith are the publications in which one of these assays went out. One in the
// trash is among them, the last, where it has errata: its figures are out all the same.
func (s *Server) publishedWith(ctx context.Context, assays ...notebook.ID) ([]*notebook.Publication, error) {
	with := func(p *notebook.Publication) bool {
		return slices.ContainsFunc(p.Assays, func(id notebook.ID) bool { return slices.Contains(assays, id) })
	}
	all, err := s.publicationsOf(ctx, notebook.Query{}, with)
	if err != nil {
		return nil, err
	}
	away, err := s.publicationsOf(ctx, notebook.Query{Trashed: true}, func(p *notebook.Publication) bool {
		return len(p.Errata) > 0 && with(p)
	})
	return append(all, away...), err
}

// assaysOffered is how many of the latest assays the form lists; others are named by
// their numbers.
const assaysOffered = 30

type publicationFormView struct {
	Today       string
	Assays      []publishable
	Comparisons []publishable
}

// publishable is a record that can be among what was published.
type publishable struct {
	ID     notebook.ID
	Text   string
	Ticked bool
}

// publicationForm is the page on which a publication is written down.
func (s *Server) publicationForm(w http.ResponseWriter, r *http.Request) error {
	return s.showPublicationForm(w, r, http.StatusOK, nil)
}

func (s *Server) showPublicationForm(w http.ResponseWriter, r *http.Request, status int, f *form) error {
	ctx := r.Context()
	d := publicationFormView{Today: s.now().Format(time.DateOnly)}
	ticked := func(kind string, id notebook.ID) bool {
		if f != nil {
			return slices.Contains(r.PostForm[kind], fmt.Sprint(id))
		}
		return slices.Contains(r.URL.Query()[kind], fmt.Sprint(id))
	}
	assays, err := s.nb.Assays().List(ctx, notebook.Query{Descending: true})
	if err != nil {
		return err
	}
	for i, a := range assays.Items {
		if on := ticked("assay", a.ID); on || i < assaysOffered {
			d.Assays = append(d.Assays, publishable{a.ID, s.nameOf(ctx, notebook.Ref{Kind: notebook.KindAssay, ID: a.ID}) + ", " + a.Made.Local().Format("2 Jan 2006"), on})
		}
	}
	comparisons, err := s.nb.Comparisons().List(ctx, notebook.Query{Descending: true})
	if err != nil {
		return err
	}
	for _, c := range comparisons.Items {
		d.Comparisons = append(d.Comparisons, publishable{c.ID, c.Title, ticked("comparison", c.ID)})
	}
	v := s.view(r, "Write down a publication")
	v.Here, v.Data = "settings", &d
	v.refused(f, "/publications/new")
	return s.write(w, status, "publicationform.html", v)
}

// publicationSave writes a publication down.
func (s *Server) publicationSave(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r, "publication")
	p, err := s.publicationSent(f)
	if err == nil {
		if file, kept := s.keptFile(f, "file"); kept != nil {
			err = kept
		} else if file != nil {
			p.Files = append(p.Files, *file)
		}
	}
	if err == nil {
		p, err = s.nb.Publications().Add(r.Context(), *p)
	}
	if err != nil {
		return s.again(f, err, func(status int) error { return s.showPublicationForm(w, r, status, f) })
	}
	return back(w, r, publicationPath(p.ID), p.Revision)
}

// publicationSent is the publication that a form writes down, with the assays of its
// comparisons.
func (s *Server) publicationSent(f *form) (*notebook.Publication, error) {
	p := &notebook.Publication{Title: f.named("title", "A publication needs a title."), Where: f.text("where"), Licence: f.text("licence")}
	if made := f.pastDay("made", s.day()); made != nil {
		p.Made = made.Time
	} else {
		f.wrong("made", "A publication has a day: write it as 2026-11-25.")
	}
	ctx := f.r.Context()
	add := func(id notebook.ID) {
		if !slices.Contains(p.Assays, id) {
			p.Assays = append(p.Assays, id)
		}
	}
	for _, text := range f.r.PostForm["assay"] {
		id, err := parseID(text)
		if err != nil {
			return nil, err
		}
		add(id)
	}
	for _, word := range strings.FieldsFunc(f.text("others"), func(c rune) bool { return c == ' ' || c == ',' || c == ';' }) {
		id, err := parseID(word)
		if err == nil {
			_, err = s.nb.Assays().Get(ctx, id)
		}
		var user *userError
		switch {
		case errors.As(err, &user), notebook.CodeOf(err) == notebook.NotFound && err != nil:
			f.wrong("others", "There is no assay “%s”: give the numbers that stand on the assays’ pages, such as 4, 7.", clip(word, 40))
		case err != nil:
			return nil, err
		default:
			add(id)
		}
	}
	for _, text := range f.r.PostForm["comparison"] {
		id, err := parseID(text)
		if err != nil {
			return nil, err
		}
		c, err := s.nb.Comparisons().Get(ctx, id)
		if err != nil {
			return nil, err
		}
		p.Comparisons = append(p.Comparisons, id)
		for _, a := range c.Assays {
			add(a)
		}
	}
	if len(p.Assays) == 0 {
		f.wrong("others", "Say what was published: tick an assay or a comparison, or give an assay’s number.")
	}
	return p, f.err
}

type publicationView struct {
	Publication *notebook.Publication
	Assays      []publishable
	Comparisons []*notebook.Comparison
	Today       string
}

// publication shows what went out, and what was put right since.
func (s *Server) publication(w http.ResponseWriter, r *http.Request) error {
	p, err := s.publicationAsked(r)
	if err != nil {
		return err
	}
	return s.showPublication(w, r, http.StatusOK, p, nil)
}

func (s *Server) publicationAsked(r *http.Request) (*notebook.Publication, error) {
	id, err := idOf(r)
	if err != nil {
		return nil, err
	}
	return s.nb.Publications().Get(r.Context(), id)
}

// showPublication shows a publication; f is a form of the page that could not be
// taken, or nil.
func (s *Server) showPublication(w http.ResponseWriter, r *http.Request, status int, p *notebook.Publication, f *form) error {
	ctx := r.Context()
	d := publicationView{Publication: p, Today: s.now().Format(time.DateOnly)}
	for _, id := range p.Assays {
		d.Assays = append(d.Assays, publishable{ID: id, Text: s.nameOf(ctx, notebook.Ref{Kind: notebook.KindAssay, ID: id})})
	}
	for _, id := range p.Comparisons {
		c, err := s.nb.Comparisons().Get(ctx, id)
		if err != nil {
			return err
		}
		d.Comparisons = append(d.Comparisons, c)
	}
	v := s.view(r, p.Title)
	v.Here, v.Data = "settings", &d
	v.refused(f, publicationPath(p.ID))
	return s.write(w, status, "publication.html", v)
}

// publicationErratum adds a correction. What was published stays as it went out.
func (s *Server) publicationErratum(w http.ResponseWriter, r *http.Request) error {
	p, err := s.publicationAsked(r)
	if err != nil {
		return err
	}
	f := formOf(r, "erratum")
	text := f.needed("text", "An erratum says what was wrong, and what is right.")
	at := f.pastDay("at", s.day())
	switch {
	case at == nil:
		f.wrong("at", "An erratum has a day: write it as 2026-11-25.")
	case at.Format(time.DateOnly) < p.Made.Format(time.DateOnly):
		f.wrong("at", "An erratum of %s cannot be: that is before the publication, %s.", at.Format(time.DateOnly), p.Made.Format(time.DateOnly))
	}
	var kept *notebook.Publication
	if err = f.err; err == nil {
		is := *p
		is.Errata = append(slices.Clone(p.Errata), notebook.Erratum{At: at.Time, Text: text})
		kept, err = s.nb.Publications().Update(r.Context(), is)
	}
	if err != nil {
		return s.again(f, err, func(status int) error { return s.showPublication(w, r, status, p, f) })
	}
	return back(w, r, publicationPath(p.ID), kept.Revision)
}
