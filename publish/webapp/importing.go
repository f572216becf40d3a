package webapp

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"path"
	"slices"
	"strconv"
	"strings"

	"lampassay/bench/ingest"
	"lampassay/bench/notebook"
	"lampassay/light/spectrum"
	"lampassay/publish/figure"
)

type importStartView struct {
	Lamp    *notebook.Lamp
	Sitting *notebook.Sitting
	Recipes []choice
}

// importStart asks for a file.
func (s *Server) importStart(w http.ResponseWriter, r *http.Request) error {
	if err := s.intoUse(r.Context(), r.URL.Query()); err != nil {
		return err
	}
	return s.showImportStart(w, r, http.StatusOK, r.URL.Query(), nil)
}

// intoUse refuses a file for a lamp that is in the trash.
func (s *Server) intoUse(ctx context.Context, ask url.Values) error {
	l, _, err := s.importFor(ctx, ask)
	if err != nil || l == nil {
		return err
	}
	return inUse(l)
}

// showImportStart asks for a file, once more where f could not be taken.
func (s *Server) showImportStart(w http.ResponseWriter, r *http.Request, status int, ask url.Values, f *form) error {
	var d importStartView
	var err error
	if d.Lamp, d.Sitting, err = s.importFor(r.Context(), ask); err != nil {
		return err
	}
	earlier, err := s.recipes(r.Context())
	if err != nil {
		return err
	}
	if len(earlier) > 0 {
		d.Recipes = append([]choice{{"", "no, look at it afresh"}}, earlier...)
	}
	v := s.view(r, "Import a spectrum")
	v.Data, v.Scripts = &d, []string{staticPath("import.js")}
	v.refused(f, "/import")
	return s.write(w, status, "importstart.html", v)
}

// importFor finds the lamp and the sitting that a file is for, nil where it is open.
func (s *Server) importFor(ctx context.Context, ask url.Values) (l *notebook.Lamp, sit *notebook.Sitting, err error) {
	if text := ask.Get("sitting"); text != "" {
		id, err := parseID(text)
		if err != nil {
			return nil, nil, err
		}
		if sit, err = s.nb.Sittings().Get(ctx, id); err != nil {
			return nil, nil, err
		}
		l, err = s.nb.Lamps().Get(ctx, sit.Lamp)
		return l, sit, err
	}
	if text := ask.Get("lamp"); text != "" && text != "0" {
		id, err := parseID(text)
		if err != nil {
			return nil, nil, err
		}
		l, err = s.nb.Lamps().Get(ctx, id)
		return l, nil, err
	}
	return nil, nil, nil
}

// importUpload keeps a file. From here on it is named by its sum, so that no step
// that follows can lose it.
func (s *Server) importUpload(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r, "import")
	next, err := s.takeUpload(f)
	if err != nil {
		return s.again(f, err, func(status int) error { return s.showImportStart(w, r, status, r.PostForm, f) })
	}
	http.Redirect(w, r, next, http.StatusSeeOther)
	return nil
}

// takeUpload keeps the file that a form brings, and returns where it is looked at.
func (s *Server) takeUpload(f *form) (next string, err error) {
	file, head, err := f.r.FormFile("file")
	if err != nil {
		f.wrong("file", "No file arrived: choose one first.")
		return "", f.err
	}
	defer file.Close()
	name := labelOf(head.Filename)
	if head.Size == 0 {
		f.wrong("file", "%s is empty.", name)
		return "", f.err
	}
	if err := s.intoUse(f.r.Context(), f.r.PostForm); err != nil {
		return "", err
	}
	rec, by, err := s.recipeBrought(f)
	if err != nil {
		return "", err
	}
	if f.err != nil {
		return "", f.err
	}
	kept, err := s.nb.Keep(f.r.Context(), name, "application/octet-stream", file)
	if err != nil {
		return "", err
	}
	ask := url.Values{"name": {name}}
	if rec != nil {
		ask = answersOf(rec)
		ask.Set("name", name)
		ask.Set("by", string(by))
	}
	for _, k := range []string{"lamp", "sitting"} {
		if v := f.r.PostFormValue(k); v != "" {
			ask.Set(k, v)
		}
	}
	return "/import/" + string(kept.SHA256) + "?" + ask.Encode(), nil
}

// labelOf makes a label of a file's name as a browser sent it.
func labelOf(name string) string {
	name = strings.ToValidUTF8(path.Base(strings.ReplaceAll(name, `\`, "/")), "")
	name = strings.Map(func(c rune) rune {
		if c < ' ' || c == 0x7f {
			return -1
		}
		return c
	}, name)
	if name = clip(name, 120); name == "" || name == "." || name == "/" {
		return "file"
	}
	return name
}

type importLookView struct {
	Sum, Name  string
	Lamp       *notebook.Lamp
	Sitting    *notebook.Sitting
	Lamps      []choice
	Families   []string
	Classes    []choice
	Preview    *ingest.Preview
	Problem    string // why it cannot be read so
	Differs    string // in what it is not as its recipe says
	Sentences  []string
	Questions  []question
	Fixed      url.Values
	Picture    drawnPicture
	Columns    []choice
	Warnings   []string
	Spectra    int
	Duration   float64 // of a series, s
	Series     bool
	Wide       bool // several spectra, of which one is to be chosen
	Counts     bool // raw counts
	Later      bool // computed on the sitting's page, where their dark is chosen
	RecipeHref string
	Chosen     string // number of the lamp, "0" for a new one
	NewName    string // suggested for that
}

// importLook shows what the reader makes of a file, and lets it be put right.
func (s *Server) importLook(w http.ResponseWriter, r *http.Request) error {
	return s.showImport(w, r, http.StatusOK, r.URL.Query(), nil)
}

// showImport shows a file as the answers in ask say; f is the form that takes it,
// where it could not be taken, or nil.
func (s *Server) showImport(w http.ResponseWriter, r *http.Request, status int, ask url.Values, f *form) error {
	ctx := r.Context()
	raw, sum, err := s.uploaded(r)
	if err != nil {
		return err
	}
	d := importLookView{Sum: string(sum), Name: labelOf(ask.Get("name")), Families: familyNames(), Classes: spectrometerClasses(), Questions: answered(ask), Fixed: settledBy(ask), Chosen: "0"}
	if d.Lamp, d.Sitting, err = s.importFor(ctx, ask); err != nil {
		return err
	}
	lamps, err := s.nb.Lamps().List(ctx, notebook.Query{Sort: "name"})
	if err != nil {
		return err
	}
	d.Lamps = []choice{{"0", "a new one"}}
	for _, l := range lamps.Items {
		d.Lamps = append(d.Lamps, choice{fmt.Sprint(l.ID), nameOfLamp(l)})
	}
	if d.Lamp != nil {
		d.Chosen = fmt.Sprint(d.Lamp.ID)
	} else {
		d.NewName = stemOf(d.Name)
	}
	pixels, err := s.pixelAxis(ctx, d.Sitting)
	if err != nil {
		return err
	}
	if err := d.look(raw, ask, pixels); err != nil {
		return err
	}
	if d.Later, err = s.correctable(ctx, d.Sitting); err != nil {
		return err
	}
	d.Later = d.Later && d.Counts
	if d.Differs, err = s.differs(ctx, ask, d.Name, &d.Preview.Report); err != nil {
		return err
	}
	v := s.view(r, "Import "+d.Name)
	v.Data, v.Scripts = &d, []string{staticPath("import.js")}
	v.refused(f, "/import/"+d.Sum)
	return s.write(w, status, "importlook.html", v)
}

// correctable reports whether an instrument of a sitting has a file that corrects raw
// counts; sit may be nil.
func (s *Server) correctable(ctx context.Context, sit *notebook.Sitting) (bool, error) {
	if sit == nil {
		return false, nil
	}
	for _, id := range sit.Instruments {
		if in, err := s.nb.Instruments().Get(ctx, id); err != nil || in.File != nil {
			return err == nil, err
		}
	}
	return false, nil
}

// uploaded fetches the bytes of a kept file.
func (s *Server) uploaded(r *http.Request) ([]byte, notebook.Sum, error) {
	sum := notebook.Sum(r.PathValue("sum"))
	if !sum.Valid() {
		return nil, "", &userError{http.StatusNotFound, "There is no such file."}
	}
	raw, err := s.nb.File(r.Context(), sum)
	return raw, sum, err
}

// look reads the file's beginning as it is settled so far.
func (d *importLookView) look(raw []byte, ask url.Values, pixels ingest.PixelAxis) error {
	o, err := settled(ask)
	if err != nil {
		d.Problem = err.(*userError).text
		o, _ = settled(url.Values{})
	}
	o.Axis = pixels
	d.Preview, err = ingest.Look(d.Name, bytes.NewReader(raw), o)
	if d.Preview == nil {
		d.Preview = new(ingest.Preview)
	}
	if err != nil && d.Problem == "" {
		d.Problem = sentence(err.Error())
		if errors.Is(err, ingest.ErrArchive) {
			d.Problem = d.Name + " is a zip archive: unpack it and import its files one by one, or read it with \"lampassay assay\"."
		}
	}
	rep := &d.Preview.Report
	for i, name := range rep.Columns {
		if i > 0 && i < 64 {
			d.Columns = append(d.Columns, choice{strconv.Itoa(i + 1), fmt.Sprintf("%d: %s", i+1, name)})
		}
	}
	d.Questions = slices.DeleteFunc(d.Questions, func(q question) bool {
		return q.Value == "" && (q.Name == "sheet" && rep.Sheet == "" && path.Ext(d.Name) != ".xlsx" || q.Name == "path" && rep.Path == "" && path.Ext(d.Name) != ".json")
	})
	if d.Problem != "" {
		return nil
	}
	d.RecipeHref = "/import/" + d.Sum + "/recipe?" + with(d.Fixed, "name", d.Name)
	whole, err := readWhole(d.Name, raw, o)
	if err != nil {
		d.Problem = sentence(err.Error())
		return nil
	}
	d.Sentences, d.Warnings, d.Spectra, d.Duration = whole.report.Sentences(), whole.report.Warnings, len(whole.values), whole.duration()
	d.Counts = whole.report.Quantity == spectrum.Counts.String()
	d.Series, d.Wide = len(whole.values) > 1, whole.wide
	return d.draw(whole)
}

func with(v url.Values, key, value string) string {
	next := url.Values{key: {value}}
	for k := range v {
		next.Set(k, v.Get(k))
	}
	return next.Encode()
}

// draw shows what was read, which tells a wrong guess at a glance: of a series its
// end, when the lamp is warm.
func (d *importLookView) draw(whole *whole) error {
	last := whole.values[len(whole.values)-1]
	p, err := figure.SpectralPower{Wavelengths: whole.axis, Values: last, From: whole.axis[0], To: whole.axis[len(whole.axis)-1], Unit: absolute(whole.report.Quantity)}.Picture()
	if err != nil {
		return nil // a curve that no picture can be made of is seen in its numbers
	}
	d.Picture, err = drawn(p)
	return err
}

// absolute is the unit of a quantity that has a scale.
func absolute(quantity string) string {
	if q, err := spectrum.ParseQuantity(quantity); err == nil && q.Absolute() {
		return q.Unit()
	}
	return ""
}
