package webapp

import (
	"fmt"
	"net/http"
	"time"

	"lampassay/bench/notebook"
	"lampassay/light/temporal"
)

type settingsView struct {
	Verdict *notebook.Verdict
	Rules   []temporal.Criterion
	Open    bool // others than this machine may enter
}

// settings shows how the notebook is kept and served.
func (s *Server) settings(w http.ResponseWriter, r *http.Request) error {
	return s.showSettings(w, r, nil)
}

func (s *Server) showSettings(w http.ResponseWriter, r *http.Request, found *notebook.Verdict) error {
	v := s.view(r, "Settings")
	v.Here = "settings"
	v.Data = &settingsView{Verdict: found, Rules: temporal.Criteria(), Open: s.guard.hash != nil}
	return s.show(w, "settings.html", v)
}

// verify reads the whole notebook and says what does not hold.
func (s *Server) verify(w http.ResponseWriter, r *http.Request) error {
	found, err := s.nb.Verify(r.Context())
	if err != nil {
		return err
	}
	return s.showSettings(w, r, found)
}

// export hands out everything as an open archive. It is written as it is read, so
// a failure on the way cuts the connection and the browser reports a broken
// download.
func (s *Server) export(w http.ResponseWriter, r *http.Request) error {
	h := w.Header()
	h.Set("Content-Type", "application/zip")
	h.Set("Content-Disposition", fmt.Sprintf("attachment; filename=%q", fileName(s.opt.Name)+s.now().Format("-2006-01-02")+".zip"))
	out := &patient{w, http.NewResponseController(w)}
	if err := s.nb.Export(r.Context(), out); err != nil {
		s.log.Error("an export failed", "err", err)
		panic(http.ErrAbortHandler)
	}
	return nil
}

// patient writes to a browser that may be slow, but not asleep.
type patient struct {
	w       http.ResponseWriter
	control *http.ResponseController
}

func (p *patient) Write(b []byte) (int, error) {
	if err := p.control.SetWriteDeadline(time.Now().Add(time.Minute)); err != nil {
		return 0, err
	}
	return p.w.Write(b)
}

func (s *Server) help(w http.ResponseWriter, r *http.Request) error {
	v := s.view(r, "Help")
	v.Data = allFamilies()
	return s.show(w, "help.html", v)
}
