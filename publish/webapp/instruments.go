package webapp

import (
	"bytes"
	"cmp"
	"fmt"
	"io"
	"net/http"
	"path"
	"slices"
	"strings"
	"time"

	"lampassay/bench/evidence"
	"lampassay/bench/instrument"
	"lampassay/bench/notebook"
	"lampassay/light/calibration"
	"lampassay/publish/figure"
)

// sorts are the instruments of a bench.
var sorts = []string{"spectrometer", "power meter", "light meter", "sphere", "multimeter", "thermometer", "oscilloscope", "other"}

type instrumentsView struct {
	Instruments []instrumentRow
	References  []referenceRow
}

type instrumentRow struct {
	*notebook.Instrument
	Overdue []string
}

// instruments lists what is on the bench, and what is past its time.
func (s *Server) instruments(w http.ResponseWriter, r *http.Request) error {
	all, err := s.nb.Instruments().List(r.Context(), notebook.Query{Sort: "name"})
	if err != nil {
		return err
	}
	refs, err := s.nb.References().List(r.Context(), notebook.Query{Sort: "name"})
	if err != nil {
		return err
	}
	d := instrumentsView{References: s.trusted(refs.Items)}
	for _, in := range all.Items {
		late, err := evidence.Overdue(r.Context(), s.nb, in, s.day())
		if err != nil {
			return err
		}
		d.Instruments = append(d.Instruments, instrumentRow{in, late})
	}
	v := s.view(r, "Instruments")
	v.Follow, v.Seq, v.Data = true, s.latest(r.Context()), &d
	return s.show(w, "instruments.html", v)
}

type instrumentFormView struct {
	Instrument *notebook.Instrument // as it is kept; empty where it is new
	New        bool
	Sorts      []choice
}

// instrumentForm is the page on which an instrument is described.
func (s *Server) instrumentForm(w http.ResponseWriter, r *http.Request) error {
	in, err := s.instrumentDescribed(r)
	if err != nil {
		return err
	}
	return s.showInstrumentForm(w, r, http.StatusOK, in, nil)
}

// instrumentDescribed is the instrument that an address names, or a new one.
func (s *Server) instrumentDescribed(r *http.Request) (*notebook.Instrument, error) {
	if r.PathValue("id") == "" {
		return new(notebook.Instrument), nil
	}
	id, err := idOf(r)
	if err != nil {
		return nil, err
	}
	return s.nb.Instruments().Get(r.Context(), id)
}

func (s *Server) showInstrumentForm(w http.ResponseWriter, r *http.Request, status int, in *notebook.Instrument, f *form) error {
	d := instrumentFormView{Instrument: in, New: in.ID == 0}
	all := sorts
	if in.Sort != "" && !slices.Contains(sorts, in.Sort) {
		all = append([]string{in.Sort}, sorts...) // one of another program's keeps its own word
	}
	for _, sort := range all {
		d.Sorts = append(d.Sorts, choice{sort, sort})
	}
	title, page := "New instrument", "/instruments/new"
	if !d.New {
		title, page = "Change "+in.Name, fmt.Sprintf("/instruments/%d/edit", in.ID)
	}
	v := s.view(r, title)
	v.Data = &d
	v.refused(f, page)
	return s.write(w, status, "instrumentform.html", v)
}

// instrumentSave keeps what the form says: a new instrument, or another state of one.
// A spectrometer may bring the file that "lampassay calibrate" wrote.
func (s *Server) instrumentSave(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r, "instrument")
	in, err := s.instrumentDescribed(r)
	if err != nil {
		return err
	}
	is := *in
	is.Name, is.Sort, is.Notes = f.titled("name"), f.text("sort"), f.text("notes")
	is.Maker, is.Model, is.Serial = f.titled("maker"), f.titled("model"), f.titled("serial")
	name, raw, err := f.ownFile("file", &is)
	if err == nil && is.Name == "" {
		f.wrong("name", "An instrument needs a name, or a file of its own that has one.")
	}
	if err == nil {
		err = f.err
	}
	if err == nil && raw != nil {
		var file notebook.Attachment
		file, err = s.nb.Keep(r.Context(), name, "application/json", bytes.NewReader(raw))
		is.File = &file
	}
	var kept *notebook.Instrument
	switch {
	case err != nil:
	case is.ID == 0:
		kept, err = s.nb.Instruments().Add(r.Context(), is)
	default:
		is.Revision = f.revision()
		if err = f.err; err == nil {
			kept, err = s.nb.Instruments().Update(r.Context(), is)
		}
	}
	if err != nil {
		return s.again(f, err, func(status int) error { return s.showInstrumentForm(w, r, status, in, f) })
	}
	return back(w, r, fmt.Sprintf("/instruments/%d", kept.ID), kept.Revision)
}

// ownFile reads the file that a spectrometer brings, nil for none, and takes from it
// what the form leaves open.
func (f *form) ownFile(field string, in *notebook.Instrument) (name string, raw []byte, err error) {
	file, head, err := f.r.FormFile(field)
	if err != nil {
		return "", nil, nil // none was chosen
	}
	defer file.Close()
	if raw, err = io.ReadAll(file); err != nil {
		return "", nil, err
	}
	name = labelOf(head.Filename)
	own, err := instrument.Read(bytes.NewReader(raw))
	if err != nil {
		f.wrong(field, "%s cannot be taken: %s", name, sentence(err.Error()))
		return name, raw, f.err
	}
	in.Name, in.Serial = cmp.Or(in.Name, own.Name), cmp.Or(in.Serial, own.Serial)
	return name, raw, nil
}

type instrumentView struct {
	Instrument   *notebook.Instrument
	Own          *instrument.Instrument // of a spectrometer's file
	Overdue      []string
	Calibrations []calibrationRow
	Kept         []calibrationRow // in its own file
	Wavelength   *calibration.Wavelength
	Residuals    *drawnPicture
	Response     *drawnPicture
	Problem      string
	Today        string
}

type calibrationRow struct {
	notebook.Calibration
	Until string
}

// instrument shows an instrument and how well it is known.
func (s *Server) instrument(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	return s.showInstrument(w, r, http.StatusOK, id, nil)
}

// showInstrument shows an instrument; f is a form of the page that could not be
// taken, or nil.
func (s *Server) showInstrument(w http.ResponseWriter, r *http.Request, status int, id notebook.ID, f *form) error {
	in, err := s.nb.Instruments().Get(r.Context(), id)
	if err != nil {
		return err
	}
	today := s.day()
	d := instrumentView{Instrument: in, Overdue: in.Overdue(today), Today: s.now().Format(time.DateOnly)}
	for _, c := range in.Calibrations {
		row := calibrationRow{Calibration: c, Until: "until it is replaced"}
		if end, ends := c.Expires(); ends {
			row.Until = "until " + end.Written()
		}
		d.Calibrations = append(d.Calibrations, row)
	}
	if in.File != nil {
		raw, err := s.nb.File(r.Context(), in.File.SHA256)
		if err != nil {
			return err
		}
		if d.Own, err = instrument.Read(bytes.NewReader(raw)); err != nil {
			d.Problem = sentence(err.Error())
		} else if err := d.draw(today); err != nil {
			return err
		} else {
			d.Kept = keptIn(d.Own)
		}
	}
	v := s.view(r, in.Name)
	v.Data = &d
	v.refused(f, fmt.Sprintf("/instruments/%d", id))
	return s.write(w, status, "instrument.html", v)
}

// keptIn lists the calibrations of a spectrometer's own file.
func keptIn(own *instrument.Instrument) (all []calibrationRow) {
	all = append(all, keptOf("wavelengths", own.Wavelength)...)
	all = append(all, keptOf("shift of the day", own.Shift)...)
	all = append(all, keptOf("linearity", own.Linearity)...)
	if own.Stray != nil {
		row := keptOf("stray light", own.Stray)
		row[0].Result = written(rounded(own.Stray.Value.Share, 3)) + " of all light in every pixel"
		all = append(all, row...)
	}
	all = append(all, keptOf("second order", own.SecondOrder)...)
	return append(all, keptOf("response", own.Response)...)
}

// keptOf is a calibration of a file as a row; none where there is none.
func keptOf[T any](what string, d *instrument.Dated[T]) []calibrationRow {
	if d == nil {
		return nil
	}
	row := calibrationRow{Calibration: notebook.Calibration{What: what, Made: d.Made, TrustedDays: d.Days}, Until: "until it is replaced"}
	if end, ends := row.Expires(); ends {
		row.Until = "until " + end.Written()
	}
	return []calibrationRow{row}
}

// draw shows the axis and the response of a spectrometer.
func (d *instrumentView) draw(today notebook.Day) error {
	d.Overdue = append(d.Overdue, d.Own.Overdue(today)...)
	if d.Own.Wavelength != nil {
		d.Wavelength = &d.Own.Wavelength.Value
		p, err := residuals(d.Own.Name, d.Wavelength)
		if err != nil {
			return err
		}
		one, err := drawn(p)
		if err != nil {
			return err
		}
		d.Residuals = &one
	}
	if d.Own.Response != nil {
		one, err := drawnResponse(d.Own)
		if err != nil {
			return err
		}
		d.Response = &one
	}
	return nil
}

// residuals draws how well an axis meets the lines it was made from.
func residuals(name string, w *calibration.Wavelength) (*figure.Picture, error) {
	fig := figure.Residuals{
		Law: w.Law, RMS: w.ResidualNm, Confident: w.Confident, Note: name + ".",
		HalfPixel: func(nm float64) float64 { return w.Dispersion.Slope(w.Dispersion.PixelAt(nm)) / 2 },
	}
	for _, l := range w.Lines {
		emitter, _, _ := strings.Cut(l.Line, " ")
		fig.Lines = append(fig.Lines, figure.ResidualLine{Nm: l.Nm, Name: l.Line, Emitter: emitter, Residual: l.ResidualNm, Expanded: 2 * l.UNm, FWHM: l.FWHMNm, Used: l.Used})
	}
	if b := w.Bandwidth; b.Lines > 0 {
		fig.Width = b.At
	}
	return fig.Picture()
}

// instrumentCalibrated notes a calibration.
func (s *Server) instrumentCalibrated(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	in, err := s.nb.Instruments().Get(r.Context(), id)
	if err != nil {
		return err
	}
	f := formOf(r, "calibration")
	c := f.calibration(s.day())
	if err = f.err; err == nil {
		in.Calibrations = append(in.Calibrations, c)
		in, err = s.nb.Instruments().Update(r.Context(), *in)
	}
	if err != nil {
		return s.again(f, err, func(status int) error { return s.showInstrument(w, r, status, id, f) })
	}
	return back(w, r, fmt.Sprintf("/instruments/%d", id), in.Revision)
}

// calibration is the calibration that a form notes.
func (f *form) calibration(today notebook.Day) notebook.Calibration {
	c := notebook.Calibration{What: f.named("what", "Say what was calibrated, such as the illuminance scale."), Result: f.text("result")}
	if made := f.pastDay("made", today); made != nil {
		c.Made = *made
	} else {
		f.wrong("made", "A calibration has a day: write it as 2026-11-25.")
	}
	c.TrustedDays = f.trustedDays("trusted_days")
	return c
}

// file hands out an attached file, under a name of ours.
func (s *Server) file(w http.ResponseWriter, r *http.Request) error {
	raw, _, err := s.uploaded(r)
	if err != nil {
		return err
	}
	name := labelOf(r.URL.Query().Get("name"))
	return deliver(w, fileName(strings.TrimSuffix(name, path.Ext(name)))+fileExt(name), "application/octet-stream", raw)
}

// fileExt is the ending of a file's name where it is a plain one.
func fileExt(name string) string {
	ext := path.Ext(name)
	for _, c := range ext[min(1, len(ext)):] {
		if (c < 'a' || c > 'z') && (c < 'A' || c > 'Z') && (c < '0' || c > '9') {
			return ""
		}
	}
	return ext
}
