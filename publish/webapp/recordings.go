package webapp

import (
	"bytes"
	"cmp"
	"context"
	"fmt"
	"mime/multipart"
	"net/http"
	"net/url"
	"strings"
	"time"

	"lampassay/bench/ingest"
	"lampassay/bench/instrument"
	"lampassay/bench/notebook"
	"lampassay/light/calibration"
)

// Recordings of raw counts that a spectrometer is calibrated by come as files of a form.
// They are kept as they arrive and named by their sums in the address of the next page,
// which shows what comes of them before anything is kept with the instrument.

// ownOf finds an instrument and its own file, nil where it has none.
func (s *Server) ownOf(r *http.Request) (*notebook.Instrument, *instrument.Instrument, error) {
	id, err := idOf(r)
	if err != nil {
		return nil, nil, err
	}
	in, err := s.nb.Instruments().Get(r.Context(), id)
	if err != nil || in.File == nil {
		return in, nil, err
	}
	own, err := s.ownFile(r.Context(), in, 0)
	return in, own, err
}

// ask takes what was said in these fields into an address.
func (f *form) ask(names ...string) url.Values {
	ask := url.Values{}
	for _, name := range names {
		if text := f.text(name); text != "" {
			ask.Set(name, text)
		}
	}
	return ask
}

// recordingsOf keeps the files of the form, and notes them by their sums.
func (s *Server) recordingsOf(r *http.Request, ask url.Values) error {
	if r.MultipartForm == nil {
		return nil
	}
	for _, field := range []string{"frame", "dark", "certificate"} {
		for _, head := range r.MultipartForm.File[field] {
			kept, err := s.keepFile(r.Context(), head)
			if err != nil {
				return err
			}
			ask.Add(field, string(kept.SHA256))
			ask.Add(field+"_name", kept.Name)
		}
	}
	return nil
}

// keepFile keeps one file that a form brought.
func (s *Server) keepFile(ctx context.Context, head *multipart.FileHeader) (notebook.Attachment, error) {
	f, err := head.Open()
	if err != nil {
		return notebook.Attachment{}, fmt.Errorf("webapp: %s: %w", head.Filename, err)
	}
	defer f.Close()
	return s.nb.Keep(ctx, labelOf(head.Filename), "application/octet-stream", f)
}

// ownWithAxis finds an instrument whose own file has its wavelengths.
func (s *Server) ownWithAxis(r *http.Request) (*notebook.Instrument, *instrument.Instrument, error) {
	in, own, err := s.ownOf(r)
	if err == nil && (own == nil || own.Wavelength == nil) {
		err = bad("The wavelengths of %s are not calibrated yet: do that first.", in.Name)
	}
	return in, own, err
}

// measurement reads a recording and its dark, or says without that there is none.
func (s *Server) measurement(ctx context.Context, f *form, ask url.Values, without string) (m instrument.Measurement, err error) {
	if m.Frames, err = s.frames(ctx, f, ask, "frame"); err != nil {
		return m, err
	}
	if m.Darks, err = s.frames(ctx, f, ask, "dark"); err == nil && len(ask["frame"]) == 0 {
		f.wrong("frame", "%s", without)
	}
	return m, err
}

// today is how a form writes this day.
func (s *Server) today() string { return s.now().Format(time.DateOnly) }

// dayIn is the day of the recordings, by default this one.
func (s *Server) dayIn(f *form, ask url.Values) instrument.Day {
	text := cmp.Or(ask.Get("made"), s.today())
	t, err := time.Parse(time.DateOnly, text)
	if err != nil {
		f.wrong("made", "“%s” is no day: write it as 2026-11-25.", clip(text, 40))
		return instrument.DayOf(s.now())
	}
	f.past("made", t, s.now())
	return instrument.Day{Time: t}
}

// frames reads kept recordings of raw counts.
func (s *Server) frames(ctx context.Context, f *form, ask url.Values, field string) (all []calibration.Frame, err error) {
	exposure := asNumber(f, ask, "exposure_ms", "the exposure")
	for i, sum := range ask[field] {
		if !notebook.Sum(sum).Valid() {
			return nil, &userError{http.StatusNotFound, "There is no such file."}
		}
		raw, err := s.nb.File(ctx, notebook.Sum(sum))
		if err != nil {
			return nil, err
		}
		name := field
		if names := ask[field+"_name"]; i < len(names) {
			name = labelOf(names[i])
		}
		read, err := instrument.ReadFrames(ctx, name, raw)
		if err != nil {
			f.wrong(field, "%s", sentence(plainly(err)))
			continue
		}
		for k := range read {
			if read[k].ExposureMs = cmp.Or(read[k].ExposureMs, exposure); read[k].ExposureMs == 0 {
				f.wrong("exposure_ms", "%s does not tell its exposure time: give it here, in ms.", name)
			}
		}
		all = append(all, read...)
	}
	return all, nil
}

// asNumber reads a number above 0 of an address or a form, 0 where there is none.
func asNumber(f *form, ask url.Values, name, what string) float64 {
	text := ask.Get(name)
	if text == "" {
		return 0
	}
	v, err := parseNumber(text)
	if err != nil || !(v > 0) {
		f.wrong(name, "“%s” cannot be %s: give a number above 0.", clip(text, 40), what)
		return 0
	}
	return v
}

// plainly is an error without the packages that say it.
func plainly(err error) string {
	return strings.NewReplacer("calibration: ", "", "instrument: ", "", "ingest: ", "").Replace(err.Error())
}

// keepOwn keeps an instrument's own file in place of the one before, which stays in the
// notebook.
func (s *Server) keepOwn(w http.ResponseWriter, r *http.Request, in *notebook.Instrument, own *instrument.Instrument) error {
	var b bytes.Buffer
	if err := own.Write(&b); err != nil {
		return err
	}
	kept, err := s.nb.Keep(r.Context(), fileName(in.Name)+".json", "application/json", &b)
	if err != nil {
		return err
	}
	in.File = &kept
	after, err := s.nb.Instruments().Update(r.Context(), *in)
	if err != nil {
		return err
	}
	return back(w, r, fmt.Sprintf("/instruments/%d", after.ID), after.Revision)
}

// pixelAxis is what a file that counts pixels is read by: the wavelengths of the one
// spectrometer of the sitting that has them in a file of its own, nil where there is
// none, or more than one.
func (s *Server) pixelAxis(ctx context.Context, sit *notebook.Sitting) (axis ingest.PixelAxis, err error) {
	if sit == nil {
		return nil, nil
	}
	for _, id := range sit.Instruments {
		in, err := s.nb.Instruments().Get(ctx, id)
		if err != nil {
			return nil, err
		}
		if in.File == nil {
			continue
		}
		own, err := s.ownFile(ctx, in, 0)
		if err != nil {
			return nil, err
		}
		if own.Wavelength == nil {
			continue
		}
		if axis != nil {
			return nil, nil
		}
		if axis, err = own.PixelAxis(); err != nil {
			return nil, err
		}
	}
	return axis, nil
}
