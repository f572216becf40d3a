package webapp

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"lampassay/bench/ingest"
	"lampassay/bench/instrument"
	"lampassay/bench/notebook"
	"lampassay/light/calibration"
)

type wavelengthStartView struct {
	Instrument *notebook.Instrument
	Family     *family // what to beware of
	Lamps      []string
}

// wavelengthStart asks for the recording of a line lamp.
func (s *Server) wavelengthStart(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	in, err := s.nb.Instruments().Get(r.Context(), id)
	if err != nil {
		return err
	}
	v := s.view(r, "Calibrate the wavelengths of "+in.Name)
	lamps := calibration.LampNames()
	v.Data = &wavelengthStartView{in, familyOf("line lamp", lamps...), lamps}
	return s.show(w, "wavelengthstart.html", v)
}

// wavelengthUpload keeps the recording and its dark.
func (s *Server) wavelengthUpload(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	next := url.Values{"lamp": {r.PostFormValue("lamp")}}
	var sum notebook.Sum
	for _, field := range []string{"file", "dark"} {
		f, head, err := r.FormFile(field)
		if errors.Is(err, http.ErrMissingFile) && field == "dark" {
			continue
		}
		if err != nil {
			return bad("No recording arrived: choose a file first.")
		}
		kept, err := s.nb.Keep(r.Context(), labelOf(head.Filename), "application/octet-stream", f)
		if err := errors.Join(err, f.Close()); err != nil {
			return err
		}
		if field == "dark" {
			next.Set("dark", string(kept.SHA256))
		} else {
			sum = kept.SHA256
			next.Set("name", labelOf(head.Filename))
		}
	}
	http.Redirect(w, r, fmt.Sprintf("/instruments/%d/wavelength/%s?%s", id, sum, next.Encode()), http.StatusSeeOther)
	return nil
}

// paired is a recording with what was made of it.
type paired struct {
	in        *notebook.Instrument
	own       *instrument.Instrument // with the new axis
	recording calibration.Recording
	made      *calibration.Wavelength // nil where no axis was found
	problem   string                  // why
	name      string
}

// pair calibrates an instrument's axis by a kept recording, as an address tells it.
// A peak that is to be left out is levelled, so that nothing is paired with it. A
// recording of which no axis can be made comes back with the reason, since it can
// be paired by hand.
func (s *Server) pair(ctx context.Context, r *http.Request, ask url.Values) (*paired, error) {
	id, err := idOf(r)
	if err != nil {
		return nil, err
	}
	p := &paired{name: labelOf(ask.Get("name"))}
	if p.in, err = s.nb.Instruments().Get(ctx, id); err != nil {
		return nil, err
	}
	raw, _, err := s.uploaded(r)
	if err != nil {
		return nil, err
	}
	light, err := frameOf(p.name, raw)
	if err != nil {
		return nil, err
	}
	m := instrument.Measurement{Frames: []calibration.Frame{light}}
	if sum := notebook.Sum(ask.Get("dark")); sum.Valid() {
		raw, err := s.nb.File(ctx, sum)
		if err != nil {
			return nil, err
		}
		dark, err := frameOf("the dark", raw)
		if err != nil {
			return nil, err
		}
		m.Darks = []calibration.Frame{dark}
	}
	if p.own, err = s.ownFile(ctx, p.in, len(light.Counts)); err != nil {
		return nil, err
	}
	counts, clipped, err := p.own.Counts(m)
	if err != nil {
		return nil, bad("%s", sentence(err.Error()))
	}
	counts = slices.Clone(counts)
	for _, text := range ask["without"] {
		if at, err := strconv.Atoi(text); err == nil && at >= 0 && at < len(counts) {
			level(counts, at)
		}
	}
	lamp, err := calibration.LampByName(ask.Get("lamp"))
	if err != nil {
		return nil, bad("%s", sentence(strings.TrimPrefix(err.Error(), "calibration: ")))
	}
	given, err := givenPairs(ask)
	if err != nil {
		return nil, err
	}
	p.recording = calibration.Recording{Name: p.name, Lamp: lamp, Counts: counts, Clipped: clipped}
	p.made, err = calibration.CalibrateWavelength([]calibration.Recording{p.recording}, calibration.Expected{Given: given})
	if err != nil {
		p.problem = sentence(strings.TrimPrefix(err.Error(), "calibration: "))
		return p, nil
	}
	p.own.Wavelength = &instrument.Dated[calibration.Wavelength]{Made: instrument.DayOf(s.now()), Days: instrument.WavelengthDays, Files: []string{p.name}, Value: *p.made}
	p.own.Shift = nil // it belonged to the axis before
	return p, nil
}

// level takes a peak out of counts: a straight line from one foot to the other.
func level(counts []float64, at int) {
	const most = 40 // pixels that a line may reach to either side
	from, to := at, at
	for from > 0 && at-from < most && counts[from-1] < counts[from] {
		from--
	}
	for to < len(counts)-1 && to-at < most && counts[to+1] < counts[to] {
		to++
	}
	a, b := counts[from], counts[to]
	for i := from + 1; i < to; i++ {
		counts[i] = a + (b-a)*float64(i-from)/float64(to-from)
	}
}

// frameOf reads raw counts: of several exposures the first column.
func frameOf(name string, raw []byte) (calibration.Frame, error) {
	o := ingest.Options{MaxBytes: mostUpload}
	file, err := ingest.Read(name, bytes.NewReader(raw), o)
	if errors.Is(err, ingest.ErrPixels) {
		o.Axis = instrument.PixelsAsNm
		file, err = ingest.Read(name, bytes.NewReader(raw), o)
	}
	if err != nil {
		return calibration.Frame{}, err
	}
	frame, err := instrument.FrameFromFile(file)
	if err != nil {
		return frame, bad("%s", sentence(err.Error()))
	}
	frame.ExposureMs = cmp.Or(frame.ExposureMs, 1) // only the places of peaks matter
	return frame, nil
}

// ownFile is the spectrometer's own file, begun where it has none.
func (s *Server) ownFile(ctx context.Context, in *notebook.Instrument, pixels int) (*instrument.Instrument, error) {
	if in.File == nil {
		return &instrument.Instrument{Format: instrument.Format, Version: instrument.Version, Name: in.Name, Serial: in.Serial, Pixels: pixels}, nil
	}
	raw, err := s.nb.File(ctx, in.File.SHA256)
	if err != nil {
		return nil, err
	}
	own, err := instrument.Read(bytes.NewReader(raw))
	if err != nil {
		return nil, bad("%s", sentence(err.Error()))
	}
	return own, nil
}

type wavelengthView struct {
	Instrument *notebook.Instrument
	Made       *calibration.Wavelength // nil where no axis was found
	Problem    string                  // why
	Free       bool                    // there is one without the pairs that were given
	Residuals  *drawnPicture
	Ask        url.Values
	Sum        string
	Without    []string
	Given      []givenPair
	Rows       []peakRow
	Picture    pairingPicture
}

// wavelengthLook shows the pairing, peak by peak, and lets peaks be paired
// otherwise or be left out.
func (s *Server) wavelengthLook(w http.ResponseWriter, r *http.Request) error {
	ask := r.URL.Query()
	if ask.Has("as") { // what was chosen from the lists becomes part of the address
		http.Redirect(w, r, r.URL.Path+"?"+withChoices(ask).Encode(), http.StatusSeeOther)
		return nil
	}
	p, err := s.pair(r.Context(), r, ask)
	if err != nil {
		return err
	}
	d := wavelengthView{Instrument: p.in, Made: p.made, Problem: p.problem, Ask: ask, Sum: r.PathValue("sum"), Without: ask["without"]}
	axis, free := p.axis()
	d.Free = free
	status := http.StatusOK
	seen, err := calibration.Sightings([]calibration.Recording{p.recording}, &axis)
	switch {
	case err != nil:
		return bad("%s", p.problem)
	case p.made == nil:
		status = http.StatusUnprocessableEntity
	default:
		picture, err := residuals(p.in.Name, p.made)
		if err != nil {
			return err
		}
		one, err := drawn(picture)
		if err != nil {
			return err
		}
		d.Residuals = &one
	}
	d.Given = namedPairs(ask, &p.recording.Lamp)
	d.Rows = peakRows(&seen[0], p.made)
	d.Picture = drawPairing(p.recording.Counts, &seen[0], &axis, d.Rows, zoomOf(ask))
	d.Picture.address(r.URL.Path, ask)
	v := s.view(r, "The lines of "+p.name)
	v.Data, v.Scripts = &d, []string{staticPath("wavelength.js")}
	return s.write(w, status, "wavelength.html", v)
}

// axis is where lines are shown: by the new axis, else by the one without the pairs
// that were given, else by a rough one.
func (p *paired) axis() (d calibration.Dispersion, free bool) {
	if p.made != nil {
		return p.made.Dispersion, false
	}
	if w, err := calibration.CalibrateWavelength([]calibration.Recording{p.recording}, calibration.Expected{}); err == nil {
		return w.Dispersion, true
	}
	return calibration.RoughAxis(len(p.recording.Counts), &p.recording.Lamp), false
}

// wavelengthKeep keeps the axis with the instrument. What is not certain is kept
// only where it is asked for in so many words.
func (s *Server) wavelengthKeep(w http.ResponseWriter, r *http.Request) error {
	ctx := r.Context()
	p, err := s.pair(ctx, r, r.PostForm)
	if err != nil {
		return err
	}
	if p.made == nil {
		return bad("%s", p.problem)
	}
	if !p.made.Confident && r.PostFormValue("accept") == "" {
		return bad("The pairing is not certain, so nothing was kept: record more lines, or say that you keep it all the same.")
	}
	var b bytes.Buffer
	if err := p.own.Write(&b); err != nil {
		return err
	}
	kept, err := s.nb.Keep(ctx, fileName(p.in.Name)+".json", "application/json", &b)
	if err != nil {
		return err
	}
	p.in.File = &kept
	in, err := s.nb.Instruments().Update(ctx, *p.in)
	if err != nil {
		return err
	}
	return back(w, r, fmt.Sprintf("/instruments/%d", in.ID), in.Revision)
}
