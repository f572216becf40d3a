package webapp

import (
	"bytes"
	"fmt"
	"io"
	"net/http"
	"path"
	"strings"
	"time"

	"lampassay/bench/instrument"
	"lampassay/bench/notebook"
	"lampassay/light/calibration"
	"lampassay/publish/figure"
)

// sorts are the instruments of a bench.
var sorts = []string{"spectrometer", "power meter", "light meter", "sphere", "multimeter", "thermometer", "oscilloscope", "other"}

type instrumentsView struct {
	Instruments []instrumentRow
	References  []*notebook.Reference
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
	d := instrumentsView{References: refs.Items}
	today := notebook.Day{Time: s.now()}
	for _, in := range all.Items {
		d.Instruments = append(d.Instruments, instrumentRow{in, in.Overdue(today)})
	}
	v := s.view(r, "Instruments")
	v.Follow, v.Seq, v.Data = true, s.latest(r.Context()), &d
	return s.show(w, "instruments.html", v)
}

type instrumentFormView struct {
	Sorts   []string
	Problem string
}

func (s *Server) instrumentForm(w http.ResponseWriter, r *http.Request) error {
	v := s.view(r, "New instrument")
	v.Data = &instrumentFormView{Sorts: sorts}
	return s.show(w, "instrumentform.html", v)
}

// instrumentSave adds an instrument; a spectrometer may bring the file that
// "lampassay calibrate" wrote.
func (s *Server) instrumentSave(w http.ResponseWriter, r *http.Request) error {
	f := newForm(r)
	in := notebook.Instrument{Name: f.text("name"), Maker: f.text("maker"), Model: f.text("model"), Serial: f.text("serial"), Sort: f.text("sort"), Notes: f.text("notes")}
	if file, head, err := r.FormFile("file"); err == nil {
		defer file.Close()
		raw, err := io.ReadAll(file)
		if err != nil {
			return err
		}
		own, err := instrument.Read(bytes.NewReader(raw))
		if err != nil {
			return bad("%s", sentence(err.Error()))
		}
		if in.Name == "" {
			in.Name = own.Name
		}
		if in.Serial == "" {
			in.Serial = own.Serial
		}
		kept, err := s.nb.Keep(r.Context(), labelOf(head.Filename), "application/json", bytes.NewReader(raw))
		if err != nil {
			return err
		}
		in.File = &kept
	}
	kept, err := s.nb.Instruments().Add(r.Context(), in)
	if err != nil {
		return err
	}
	return back(w, r, fmt.Sprintf("/instruments/%d", kept.ID), kept.Revision)
}

type instrumentView struct {
	Instrument   *notebook.Instrument
	Own          *instrument.Instrument // of a spectrometer's file
	Overdue      []string
	Calibrations []calibrationRow
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
	in, err := s.nb.Instruments().Get(r.Context(), id)
	if err != nil {
		return err
	}
	today := notebook.Day{Time: s.now()}
	d := instrumentView{Instrument: in, Overdue: in.Overdue(today), Today: s.now().Format(time.DateOnly)}
	for _, c := range in.Calibrations {
		row := calibrationRow{Calibration: c, Until: "until it is replaced"}
		if end, ends := c.Expires(); ends {
			row.Until = "until " + end.Format(time.DateOnly)
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
		}
	}
	v := s.view(r, in.Name)
	v.Data = &d
	return s.show(w, "instrument.html", v)
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
	f := newForm(r)
	c := notebook.Calibration{What: f.text("what"), TrustedDays: int(f.whole("trusted_days", "the days of trust")), Result: f.text("result")}
	made := f.day("made")
	switch {
	case f.err != nil:
		return f.err
	case made == nil:
		return bad("A calibration has a day.")
	}
	c.Made = *made
	in, err := s.nb.Instruments().Get(r.Context(), id)
	if err != nil {
		return err
	}
	in.Calibrations = append(in.Calibrations, c)
	kept, err := s.nb.Instruments().Update(r.Context(), *in)
	if err != nil {
		return err
	}
	return back(w, r, fmt.Sprintf("/instruments/%d", id), kept.Revision)
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
