package webapp

import (
	"fmt"
	"math"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

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
	d := &strayView{Instrument: in, own: own, Ask: ask, Response: own.Response != nil, Share: written(rounded(stray.Share, 3))}
	d.Together, d.U = together(100*n*stray.Share, 100*n*u)
	return d, nil
}

// together writes a value and its uncertainty to the same place: that of the first
// digit of the uncertainty.
func together(v, u float64) (value, of string) {
	places := 3
	if u > 0 {
		places = max(0, -int(math.Floor(math.Log10(rounded(u, 1)))))
	}
	return strings.Replace(strconv.FormatFloat(v, 'f', places, 64), "-", "−", 1), strconv.FormatFloat(u, 'f', places, 64)
}

// rounded rounds to so many digits.
func rounded(v float64, digits int) float64 {
	out, err := strconv.ParseFloat(strconv.FormatFloat(v, 'e', digits-1, 64), 64)
	if err != nil {
		return v
	}
	return out
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
