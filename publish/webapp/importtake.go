package webapp

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"lampassay/bench/evidence"
	"lampassay/bench/ingest"
	"lampassay/bench/instrument"
	"lampassay/bench/notebook"
)

// importTake puts what was read into the notebook: a lamp where it is new, a sitting
// with the file, its readings, and the assay.
func (s *Server) importTake(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r, "take")
	a, made, err := s.takeImport(f)
	if err != nil {
		return s.again(f, err, func(status int) error { return s.showImport(w, r, status, r.PostForm, f) })
	}
	if a == nil { // raw counts, of which somebody has to say how they are corrected
		return backAfter(w, r, sittingPath(f.id("sitting"))+"#assay", made)
	}
	return backAfter(w, r, fmt.Sprintf("/assays/%d", a.ID), made)
}

// takeImport also returns the changes that are taken back as one: what is new of lamp
// and sitting, and the assay.
func (s *Server) takeImport(f *form) (*notebook.Assay, changeList, error) {
	r := f.r
	ctx := r.Context()
	raw, sum, err := s.uploaded(r)
	if err != nil {
		return nil, nil, err
	}
	name := labelOf(f.text("name"))
	entered := valuesEntered(f)
	lamp, sit, err := s.importFor(ctx, r.PostForm)
	if err != nil {
		return nil, nil, err
	}
	if lamp != nil {
		if err := inUse(lamp); err != nil {
			return nil, nil, err
		}
	}
	class := cmp.Or(f.text("class"), usualClass)
	if !slices.ContainsFunc(spectrometerClasses(), func(c choice) bool { return c.Value == class }) {
		f.wrong("class", "“%s” is no class of spectrometer: choose one of the list.", clip(class, 40))
	}
	if lamp == nil && f.text("new_lamp") == "" {
		f.wrong("new_lamp", "Which lamp is it? Choose one, or give a new one a name.")
	}
	if f.err != nil {
		return nil, nil, f.err
	}
	pixels, err := s.pixelAxis(ctx, sit)
	if err != nil {
		return nil, nil, err
	}
	readings, projection, err := readAll(name, raw, r.PostForm, pixels, s.now().UTC())
	if err != nil {
		return nil, nil, err
	}
	if len(entered) > 0 {
		readings = append(readings, notebook.Reading{At: readings[len(readings)-1].At, Channel: channelEntered, Values: entered, Note: "given with the file"})
	}
	for i := range readings {
		if err := readings[i].Check(); err != nil {
			return nil, nil, err
		}
	}
	var begun changeList
	if lamp == nil {
		if lamp, err = s.nb.Lamps().Add(ctx, notebook.Lamp{Name: f.titled("new_lamp"), Technology: f.text("technology")}); err != nil {
			return nil, nil, err
		}
		begun = changeList{lamp.Revision}
	}
	recipe, err := s.keepRecipe(ctx, name, raw, r.PostForm)
	if err != nil {
		return nil, nil, err
	}
	file := notebook.Attachment{Name: name, Media: "application/octet-stream", Size: int64(len(raw)), SHA256: sum}
	if sit == nil {
		sit = &notebook.Sitting{Lamp: lamp.ID, Title: "File " + name, SetUp: notebook.SetUp{PowerAt: powerAtMains, Remarks: "Imported from a file."}}
	}
	sit.Files = append(append(sit.Files, file), recipe...)
	a, made, err := s.keepImport(ctx, sit, readings, projection, class)
	return a, append(made, begun...), err
}

// keepImport keeps readings in a sitting, which is begun where it is new, and
// computes the assay. It returns the changes that are taken back as one. Of raw counts
// that an instrument of the sitting can correct there is no assay yet: which dark is
// theirs has to be said first.
func (s *Server) keepImport(ctx context.Context, sit *notebook.Sitting, readings []notebook.Reading, projection, class string) (*notebook.Assay, changeList, error) {
	var err error
	var made changeList
	if sit.ID == 0 {
		// What a file holds is over: nothing more will be read in this sitting.
		end := readings[len(readings)-1].At
		sit.Started, sit.Ended = readings[0].At, &end
		if sit, err = s.nb.Sittings().Add(ctx, *sit); err == nil {
			made = changeList{sit.Revision}
		}
	} else {
		sit, err = s.nb.Sittings().Update(ctx, *sit)
	}
	if err != nil {
		return nil, nil, err
	}
	if _, err := s.nb.Append(ctx, sit.ID, readings); err != nil {
		return nil, nil, err
	}
	choices, err := s.choices(ctx, sit)
	if err != nil {
		return nil, nil, err
	}
	if choices.Latest != nil && evidence.IsRaw(choices.Latest) && len(choices.Instruments) > 0 {
		return nil, made, nil
	}
	e, err := s.gather(ctx, sit, projection, class)
	if err != nil {
		return nil, nil, err
	}
	a, err := s.keepAssay(ctx, sit, e)
	if err != nil {
		return nil, nil, err
	}
	return a, append(changeList{a.Revision}, made...), nil
}

// valuesEntered are the numbers given beside a file.
func valuesEntered(f *form) (all []notebook.Value) {
	for _, e := range enterable[:3] {
		if v := f.number(e.Key, "the "+strings.ToLower(e.Label)); v != nil {
			if *v <= 0 {
				f.wrong(e.Key, "%s is %s %s: a number above 0 belongs there, or nothing.", e.Label, written(*v), e.Unit)
			}
			all = append(all, notebook.Value{Key: e.Key, V: v, Unit: e.Unit})
		}
	}
	return all
}

// readAll reads all of a file as readings: its one spectrum, or a series with its
// times. Where the file has no date it ends now. pixels are the wavelengths of a file
// that counts pixels, nil where nobody knows them.
func readAll(name string, raw []byte, ask url.Values, pixels ingest.PixelAxis, now time.Time) (readings []notebook.Reading, projection string, err error) {
	o, err := settled(ask)
	if err != nil {
		return nil, "", err
	}
	o.Axis = pixels
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
			Curve: &notebook.Curve{Quantity: all.report.Quantity, Axis: all.axis, Samples: values, ExposureMs: instrument.ExposureMs(all.report.Metadata)},
		})
	}
	readings[0].Note = name // how it was read stands on the import page
	return readings, all.projection, nil
}

func seconds(s float64) time.Duration {
	return time.Duration(math.Round(s * float64(time.Second)))
}
