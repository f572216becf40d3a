package webapp

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"

	"lampassay/bench/instrument"
	"lampassay/bench/notebook"
	"lampassay/light/calibration"
)

// strayStart asks for the recording of a filament lamp behind a long-pass filter.
func (s *Server) strayStart(w http.ResponseWriter, r *http.Request) error {
	return s.showStrayStart(w, r, http.StatusOK, nil)
}

func (s *Server) showStrayStart(w http.ResponseWriter, r *http.Request, status int, f *form) error {
	in, own, err := s.ownOf(r)
	if err != nil {
		return err
	}
	v := s.view(r, "Stray light of "+in.Name)
	v.Data = &responseStartView{Instrument: in, Family: familyOf("halogen"), Known: own != nil && own.Wavelength != nil, Today: s.today()}
	v.refused(f, fmt.Sprintf("/instruments/%d/stray", in.ID))
	return s.write(w, status, "straystart.html", v)
}

// strayUpload keeps what was recorded, and shows the share where there is one.
func (s *Server) strayUpload(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r, "stray")
	ask := f.ask("edge_nm", "exposure_ms", "made")
	err := s.recordingsOf(r, ask)
	if err == nil {
		_, err = s.strayOf(r, f, ask)
	}
	if err != nil {
		return s.again(f, err, func(status int) error { return s.showStrayStart(w, r, status, f) })
	}
	http.Redirect(w, r, fmt.Sprintf("/instruments/%s/stray/look?%s", r.PathValue("id"), ask.Encode()), http.StatusSeeOther)
	return nil
}

type strayView struct {
	Instrument *notebook.Instrument
	own        *instrument.Instrument // with the new share
	Share      string                 // of all light that one pixel sees besides its own
	Together   string                 // of all pixels, with its standard uncertainty, in per cent
	U          string
	Response   bool // there is one, which was found without this
	Ask        url.Values
}

// strayOf finds the share from kept recordings, as an address or a form tells it.
func (s *Server) strayOf(r *http.Request, f *form, ask url.Values) (*strayView, error) {
	in, own, err := s.ownWithAxis(r)
	if err != nil {
		return nil, err
	}
	m, err := s.measurement(r.Context(), f, ask, "No recording arrived: choose the file of the lamp behind the filter.")
	if err != nil {
		return nil, err
	}
	edge := asNumber(f, ask, "edge_nm", "the edge of a filter in nm")
	if edge == 0 {
		f.wrong("edge_nm", "Below which wavelength does the filter pass nothing? Give it in nm, from its data sheet.")
	}
	day := s.dayIn(f, ask)
	if f.err != nil {
		return nil, f.err
	}
	stray, u, err := own.CalibrateStray(m, edge)
	if err != nil {
		return nil, bad("%s", sentence(plainly(err)))
	}
	own.Stray = &instrument.Dated[calibration.Stray]{
		Made: day, Days: instrument.StrayDays, Files: append(slices.Clone(ask["frame_name"]), ask["dark_name"]...), Value: stray,
	}
	n := float64(own.Pixels)
	return &strayView{
		Instrument: in, own: own, Ask: ask, Response: own.Response != nil,
		Share: fmt.Sprintf("%.3g", stray.Share), Together: fmt.Sprintf("%.2g", 100*n*stray.Share), U: fmt.Sprintf("%.1g", 100*n*u),
	}, nil
}

// strayLook shows the share before it is kept.
func (s *Server) strayLook(w http.ResponseWriter, r *http.Request) error {
	d, err := s.strayOf(r, newForm(r), r.URL.Query())
	if err != nil {
		return err
	}
	v := s.view(r, "Stray light of "+d.Instrument.Name)
	v.Data = d
	return s.show(w, "stray.html", v)
}

// strayKeep keeps the share with the instrument.
func (s *Server) strayKeep(w http.ResponseWriter, r *http.Request) error {
	d, err := s.strayOf(r, newForm(r), r.PostForm)
	if err != nil {
		return err
	}
	return s.keepOwn(w, r, d.Instrument, d.own)
}
