package webapp

import (
	"bytes"
	"cmp"
	"context"
	"fmt"
	"math"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"lampassay/bench/ingest"
	"lampassay/bench/instrument"
	"lampassay/bench/notebook"
	"lampassay/light/calibration"
	"lampassay/publish/figure"
)

// How a reference lamp is known; a number stands for one of the notebook's.
const (
	knownTungsten    = "tungsten"
	knownBlackbody   = "blackbody"
	knownCertificate = "certificate"
)

type responseStartView struct {
	Instrument *notebook.Instrument
	Family     *family // what to beware of
	References []choice
	Known      bool // its wavelengths are, without which there is no response
	Today      string
}

// responseStart asks for the recording of a reference lamp.
func (s *Server) responseStart(w http.ResponseWriter, r *http.Request) error {
	return s.showResponseStart(w, r, http.StatusOK, nil)
}

func (s *Server) showResponseStart(w http.ResponseWriter, r *http.Request, status int, f *form) error {
	in, own, err := s.ownOf(r)
	if err != nil {
		return err
	}
	d := responseStartView{
		Instrument: in, Family: familyOf("halogen"), Known: own != nil && own.Wavelength != nil, Today: s.today(),
		References: []choice{{knownTungsten, "a filament of this colour temperature"}, {knownBlackbody, "a blackbody of it"}, {knownCertificate, "by this certificate"}},
	}
	kept, err := s.nb.References().List(r.Context(), notebook.Query{Sort: "name"})
	if err != nil {
		return err
	}
	for _, ref := range kept.Items {
		if _, ok := colourTemperature(ref); ok || len(ref.Files) > 0 {
			d.References = append(d.References, choice{fmt.Sprint(ref.ID), "the notebook’s " + ref.Name})
		}
	}
	v := s.view(r, "Response of "+in.Name)
	v.Data = &d
	v.refused(f, fmt.Sprintf("/instruments/%d/response", in.ID))
	return s.write(w, status, "responsestart.html", v)
}

// colourTemperature is that of a reference lamp, in K.
func colourTemperature(ref *notebook.Reference) (float64, bool) {
	i := slices.IndexFunc(ref.Values, func(v notebook.Declared) bool { return v.Quantity == "cct" })
	if i < 0 {
		return 0, false
	}
	return ref.Values[i].Value, true
}

// responseUpload keeps what was recorded, and shows the response where there is one.
func (s *Server) responseUpload(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r, "response")
	ask := f.ask("reference", "cct", "u_cct", "u_certificate", "exposure_ms", "made")
	err := s.recordingsOf(r, ask)
	if err == nil {
		_, err = s.respond(r, f, ask)
	}
	if err != nil {
		return s.again(f, err, func(status int) error { return s.showResponseStart(w, r, status, f) })
	}
	http.Redirect(w, r, fmt.Sprintf("/instruments/%s/response/look?%s", r.PathValue("id"), ask.Encode()), http.StatusSeeOther)
	return nil
}

// responded is a recording of a reference lamp with what was made of it.
type responded struct {
	in    *notebook.Instrument
	own   *instrument.Instrument // with the new response
	made  *instrument.ResponseMade
	exact bool // nobody said how well the reference is known
}

// respond finds a response from kept recordings, as an address or a form tells it. f
// takes the faults of fields.
func (s *Server) respond(r *http.Request, f *form, ask url.Values) (*responded, error) {
	in, own, err := s.ownWithAxis(r)
	if err != nil {
		return nil, err
	}
	d := &responded{in: in, own: own}
	m, err := s.measurement(r.Context(), f, ask, "No recording arrived: choose the file of the reference lamp.")
	if err != nil {
		return nil, err
	}
	ref, err := s.knownLamp(r.Context(), f, ask, d)
	if err != nil {
		return nil, err
	}
	day := s.dayIn(f, ask)
	if f.err != nil {
		return nil, f.err
	}
	if d.made, err = own.CalibrateResponse(m, ref); err != nil {
		return nil, bad("%s", sentence(plainly(err)))
	}
	own.Response = &instrument.Dated[calibration.Response]{
		Made: day, Days: instrument.ResponseDays,
		Files: append(slices.Clone(ask["frame_name"]), ask["dark_name"]...), Value: d.made.Response,
	}
	return d, nil
}

// knownLamp is the lamp of the recording, as far as it is known.
func (s *Server) knownLamp(ctx context.Context, f *form, ask url.Values, d *responded) (ref calibration.Reference, err error) {
	cct, u := asNumber(f, ask, "cct", "a colour temperature"), asNumber(f, ask, "u_cct", "the uncertainty of a colour temperature")
	share := asNumber(f, ask, "u_certificate", "the uncertainty of a certificate") / 100
	kind := cmp.Or(ask.Get("reference"), knownTungsten)
	name, sum := labelOf(ask.Get("certificate_name")), notebook.Sum(ask.Get("certificate"))
	if id, err := strconv.ParseInt(kind, 10, 64); err == nil {
		kept, err := s.nb.References().Get(ctx, notebook.ID(id))
		if err != nil {
			return ref, err
		}
		kind = knownTungsten
		if k, ok := colourTemperature(kept); ok {
			cct = k
		} else if len(kept.Files) > 0 {
			kind, name, sum = knownCertificate, kept.Name, kept.Files[0].SHA256
		}
	}
	if kind != knownCertificate {
		if d.exact = u == 0; cct == 0 {
			f.wrong("cct", "What is its colour temperature? Give it in K, or choose a certificate.")
			return ref, nil
		}
		made := calibration.TungstenReference
		if kind == knownBlackbody {
			made = calibration.PlanckReference
		}
		ref, err = made(cct, u)
	} else {
		if d.exact = share == 0; !sum.Valid() {
			f.wrong("certificate", "Choose the file of the certificate: wavelengths and values of the lamp.")
			return ref, nil
		}
		raw, err := s.nb.File(ctx, sum)
		if err != nil {
			return ref, err
		}
		file, err := ingest.Read(name, bytes.NewReader(raw), ingest.Options{MaxBytes: mostUpload})
		if err != nil {
			f.wrong("certificate", "%s", sentence(plainly(err)))
			return ref, nil
		}
		ref, err = calibration.CertificateReference(name, file.Spectrum, share)
		if err != nil {
			f.wrong("certificate", "%s", sentence(plainly(err)))
		}
		return ref, nil
	}
	if err != nil {
		f.wrong("cct", "%s", sentence(plainly(err)))
	}
	return ref, nil
}

type responseView struct {
	Instrument *notebook.Instrument
	Made       *instrument.ResponseMade
	Exact      string
	Picture    drawnPicture
	Rows       [][]string // nm, response, u and tilt in per cent
	Steps      []string
	Ask        url.Values
}

// responseLook shows the response before it is kept.
func (s *Server) responseLook(w http.ResponseWriter, r *http.Request) error {
	ask := r.URL.Query()
	got, err := s.respond(r, newForm(r), ask)
	if err != nil {
		return err
	}
	d := responseView{Instrument: got.in, Made: got.made, Ask: ask}
	if got.exact {
		d.Exact = instrument.TakenAsExact
	}
	for i := range got.made.Recording.Steps {
		d.Steps = append(d.Steps, sentence(got.made.Recording.Steps[i].Sentence()))
	}
	for _, p := range got.made.Every(50) {
		d.Rows = append(d.Rows, []string{fmt.Sprintf("%.0f", p.Nm), fmt.Sprintf("%.4f", p.Value), fmt.Sprintf("%.2f", 100*p.U), signedPercent(p.Tilt)})
	}
	if d.Picture, err = drawnResponse(got.own); err != nil {
		return err
	}
	v := s.view(r, "Response of "+got.in.Name)
	v.Data = &d
	return s.show(w, "response.html", v)
}

// drawnResponse draws the response of an instrument that has one.
func drawnResponse(own *instrument.Instrument) (drawnPicture, error) {
	made := &own.Response.Value
	fig := figure.Response{Wavelengths: made.Nm, Values: made.Value, U: made.U, Tilt: made.Tilt, Reference: made.Reference, Note: own.Name + "."}
	if d, err := own.Dispersion(); err == nil {
		axis := d.Axis()
		fig.DetectorFrom, fig.DetectorTo = axis[0], axis[len(axis)-1]
	}
	p, err := fig.Picture()
	if err != nil {
		return drawnPicture{}, err
	}
	return drawn(p)
}

// responseKeep keeps the response with the instrument.
func (s *Server) responseKeep(w http.ResponseWriter, r *http.Request) error {
	got, err := s.respond(r, newForm(r), r.PostForm)
	if err != nil {
		return err
	}
	return s.keepOwn(w, r, got.in, got.own)
}

// signedPercent writes a share as a hundredth of a per cent with its sign, and no sign
// for nothing.
func signedPercent(share float64) string {
	if math.Abs(share) < 0.5e-4 {
		return "0.00"
	}
	return strings.Replace(fmt.Sprintf("%+.2f", 100*share), "-", "−", 1)
}
