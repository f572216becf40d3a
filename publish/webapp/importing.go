package webapp

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"net/http"
	"net/url"
	"path"
	"slices"
	"strconv"
	"strings"
	"time"

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
	var d importStartView
	var err error
	if d.Lamp, d.Sitting, err = s.importFor(r.Context(), r.URL.Query()); err != nil {
		return err
	}
	if d.Recipes, err = s.recipes(r.Context()); err != nil {
		return err
	}
	v := s.view(r, "Import a spectrum")
	v.Data, v.Scripts = &d, []string{staticPath("import.js")}
	return s.show(w, "importstart.html", v)
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
	f, head, err := r.FormFile("file")
	if err != nil {
		return bad("No file arrived: choose one first.")
	}
	defer f.Close()
	name := labelOf(head.Filename)
	kept, err := s.nb.Keep(r.Context(), name, "application/octet-stream", f)
	if err != nil {
		return err
	}
	if kept.Size == 0 {
		return bad("%s is empty.", name)
	}
	next := url.Values{"name": {name}}
	rec, by, err := s.recipeBrought(r)
	if err != nil {
		return err
	}
	if rec != nil {
		next = answersOf(rec)
		next.Set("name", name)
		next.Set("by", string(by))
	}
	for _, k := range []string{"lamp", "sitting"} {
		if v := r.PostFormValue(k); v != "" {
			next.Set(k, v)
		}
	}
	http.Redirect(w, r, "/import/"+string(kept.SHA256)+"?"+next.Encode(), http.StatusSeeOther)
	return nil
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
	Lamps      []*notebook.Lamp
	Families   []family
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
	RecipeHref string
	Fault      string // of the form that takes it
	Stem       string
	Values     url.Values // of that form
}

// importLook shows what the reader makes of a file, and lets it be put right.
func (s *Server) importLook(w http.ResponseWriter, r *http.Request) error {
	return s.showImport(w, r, http.StatusOK, r.URL.Query(), "")
}

func (s *Server) showImport(w http.ResponseWriter, r *http.Request, status int, ask url.Values, fault string) error {
	ctx := r.Context()
	raw, sum, err := s.uploaded(r)
	if err != nil {
		return err
	}
	d := importLookView{Sum: string(sum), Name: labelOf(ask.Get("name")), Families: families, Questions: answered(ask), Fixed: settledBy(ask), Fault: fault, Values: ask}
	d.Stem = stemOf(d.Name)
	if d.Lamp, d.Sitting, err = s.importFor(ctx, ask); err != nil {
		return err
	}
	lamps, err := s.nb.Lamps().List(ctx, notebook.Query{Sort: "name"})
	if err != nil {
		return err
	}
	d.Lamps = lamps.Items
	if err := d.look(raw, ask); err != nil {
		return err
	}
	if d.Differs, err = s.differs(ctx, ask, d.Name, &d.Preview.Report); err != nil {
		return err
	}
	v := s.view(r, "Import "+d.Name)
	v.Data, v.Scripts = &d, []string{staticPath("import.js")}
	return s.write(w, status, "importlook.html", v)
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
func (d *importLookView) look(raw []byte, ask url.Values) error {
	o, err := settled(ask)
	if err != nil {
		d.Problem = err.(*userError).text
		o, _ = settled(url.Values{})
	}
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

// importTake puts what was read into the notebook: a lamp where it is new, a sitting
// with the file, its readings, and the assay.
func (s *Server) importTake(w http.ResponseWriter, r *http.Request) error {
	err := s.takeImport(w, r)
	if err == nil {
		return nil
	}
	if status, text := s.explain(r, err); status == http.StatusUnprocessableEntity {
		return s.showImport(w, r, status, r.PostForm, text)
	}
	return err
}

func (s *Server) takeImport(w http.ResponseWriter, r *http.Request) error {
	ctx, f := r.Context(), newForm(r)
	raw, sum, err := s.uploaded(r)
	if err != nil {
		return err
	}
	name := labelOf(f.text("name"))
	entered := valuesEntered(f)
	lamp, sit, err := s.importFor(ctx, r.PostForm)
	switch {
	case err != nil:
		return err
	case f.err != nil:
		return f.err
	case lamp == nil && f.text("new_lamp") == "":
		return bad("Which lamp is it? Choose one, or give a new one a name.")
	}
	readings, projection, err := readAll(name, raw, r.PostForm, s.now().UTC())
	if err != nil {
		return err
	}
	if len(entered) > 0 {
		readings = append(readings, notebook.Reading{At: readings[len(readings)-1].At, Channel: channelEntered, Values: entered, Note: "given with the file"})
	}
	for i := range readings {
		if err := readings[i].Check(); err != nil {
			return err
		}
	}
	if lamp == nil {
		if lamp, err = s.nb.Lamps().Add(ctx, notebook.Lamp{Name: f.text("new_lamp"), Technology: f.text("technology")}); err != nil {
			return err
		}
	}
	recipe, err := s.keepRecipe(ctx, name, raw, r.PostForm)
	if err != nil {
		return err
	}
	file := notebook.Attachment{Name: name, Media: "application/octet-stream", Size: int64(len(raw)), SHA256: sum}
	if sit == nil {
		sit = &notebook.Sitting{Lamp: lamp.ID, Title: "File " + name, SetUp: notebook.SetUp{PowerAt: powerAtMains, Remarks: "Imported from a file."}}
	}
	sit.Files = append(append(sit.Files, file), recipe...)
	a, err := s.keepImport(ctx, sit, readings, projection, cmp.Or(f.text("class"), usualClass))
	if err != nil {
		return err
	}
	return back(w, r, fmt.Sprintf("/assays/%d", a.ID), a.Revision)
}

// keepImport keeps readings in a sitting, which is begun where it is new, and
// computes the assay.
func (s *Server) keepImport(ctx context.Context, sit *notebook.Sitting, readings []notebook.Reading, projection, class string) (*notebook.Assay, error) {
	var err error
	if sit.ID == 0 {
		sit.Started = readings[0].At
		sit, err = s.nb.Sittings().Add(ctx, *sit)
	} else {
		sit, err = s.nb.Sittings().Update(ctx, *sit)
	}
	if err != nil {
		return nil, err
	}
	if _, err := s.nb.Append(ctx, sit.ID, readings); err != nil {
		return nil, err
	}
	e, err := s.gather(ctx, sit, projection, class)
	if err != nil {
		return nil, err
	}
	return s.keepAssay(ctx, sit, e)
}

// valuesEntered are the numbers given beside a file.
func valuesEntered(f *form) (all []notebook.Value) {
	for _, e := range enterable[:3] {
		if v := f.number(e.Key, "the "+strings.ToLower(e.Label)); v != nil {
			if *v <= 0 {
				f.fault(bad("%s is %g %s: a number above 0 belongs there, or nothing.", e.Label, *v, e.Unit))
			}
			all = append(all, notebook.Value{Key: e.Key, V: v, Unit: e.Unit})
		}
	}
	return all
}

// readAll reads all of a file as readings: its one spectrum, or a series with its
// times. Where the file has no date it ends now.
func readAll(name string, raw []byte, ask url.Values, now time.Time) (readings []notebook.Reading, projection string, err error) {
	o, err := settled(ask)
	if err != nil {
		return nil, "", err
	}
	all, err := readWhole(name, raw, o)
	if err != nil {
		return nil, "", err
	}
	if all.wide {
		return nil, "", bad("%s holds several spectra: choose the column of this lamp's.", name)
	}
	start := all.start
	if start.IsZero() {
		start = now.Add(-seconds(all.duration()))
	}
	for i, values := range all.values {
		readings = append(readings, notebook.Reading{
			At: start.Add(seconds(all.times[i])).UTC(), Channel: channelFile,
			Curve: &notebook.Curve{Quantity: all.report.Quantity, Axis: all.axis, Samples: values},
		})
	}
	readings[0].Note = clip(strings.Join(all.report.Sentences(), " "), 4000)
	return readings, all.projection, nil
}

func seconds(s float64) time.Duration {
	return time.Duration(math.Round(s * float64(time.Second)))
}
