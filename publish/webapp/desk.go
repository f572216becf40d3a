package webapp

import (
	"bytes"
	"context"
	"errors"
	"net/http"
	"slices"
	"sync"

	"lampassay/bench/live"
	"lampassay/bench/notebook"
)

// desk is the bench with its instruments, which are read for one sitting at a time.
// What instruments there are was said when the program was started: a page can
// start and stop them, and name none.
type desk struct {
	mu      sync.Mutex
	sitting notebook.ID // 0 while nothing is read
	session *live.Session
	push    []*live.Push
	stop    context.CancelFunc
}

// running returns the session of a sitting, nil where its instruments are not read.
func (d *desk) running(sitting notebook.ID) *live.Session {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.sitting != sitting {
		return nil
	}
	return d.session
}

// start begins to read the instruments of a set-up for a sitting.
func (d *desk) start(nb notebook.Notebook, sitting notebook.ID, setUp []byte) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	switch {
	case d.sitting == sitting:
		return nil
	case d.sitting != 0:
		return &userError{http.StatusConflict, "The instruments are being read for another sitting: stop them there first."}
	}
	// Each session has sources of its own, since one that ran is not started again.
	c, err := live.ReadConfig("the set-up of the bench", bytes.NewReader(setUp))
	if err != nil {
		return bad("%s", sentence(err.Error()))
	}
	ctx, stop := context.WithCancel(context.Background())
	session := live.Open(ctx, live.Into(nb, sitting), live.Options{Rate: c.Rate})
	var push []*live.Push
	for _, src := range c.Sources {
		if err := session.Start(src); err != nil {
			stop()
			return errors.Join(bad("%s", sentence(err.Error())), session.Close())
		}
		if p, is := src.(*live.Push); is && p.Listen == "" {
			push = append(push, p)
		}
	}
	d.sitting, d.session, d.push, d.stop = sitting, session, push, stop
	return nil
}

// halt stops reading for a sitting, or for whichever where it is 0.
func (d *desk) halt(sitting notebook.ID) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.session == nil || sitting != 0 && d.sitting != sitting {
		return nil
	}
	err := d.session.Close()
	d.stop()
	d.sitting, d.session, d.push, d.stop = 0, nil, nil, nil
	return err
}

// pushed hands what a board sends to the source that waits for it. It is not from
// a page: the token in the request is what lets it in.
func (s *Server) pushed(w http.ResponseWriter, r *http.Request) {
	s.desk.mu.Lock()
	sources := slices.Clone(s.desk.push)
	s.desk.mu.Unlock()
	if len(sources) == 0 {
		http.Error(w, "no sitting is waiting for readings", http.StatusServiceUnavailable)
		return
	}
	sources[0].ServeHTTP(w, r)
}

// deskView is how the instruments stand.
type deskView struct {
	Sitting  notebook.ID
	Set      bool // there are instruments
	Running  bool
	Paused   bool
	Statuses []live.Status
	Log      []live.Event // the newest first
	Token    string
}

// loggedShown is how much of the command log the page shows.
const loggedShown = 24

func (s *Server) deskOf(sitting notebook.ID) *deskView {
	v := &deskView{Sitting: sitting, Set: len(s.opt.SetUp) > 0, Token: s.guard.token}
	session := s.desk.running(sitting)
	if session == nil {
		return v
	}
	v.Running, v.Paused = true, session.Paused()
	v.Statuses = slices.DeleteFunc(session.Statuses(), func(one live.Status) bool { return !one.Running && one.Trouble == "" })
	at, cancel := context.WithCancel(context.Background())
	cancel() // what is there, without waiting for more
	events, err := session.Since(at, 0)
	if err != nil {
		return v
	}
	for _, e := range slices.Backward(events) {
		if e.Kind != live.Read && e.Kind != live.Shown && len(v.Log) < loggedShown {
			v.Log = append(v.Log, e)
		}
	}
	return v
}

// sittingDesk is the part of a sitting's page on its instruments.
func (s *Server) sittingDesk(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	v := s.view(r, "")
	v.Data = s.deskOf(id)
	return s.show(w, "desk-alone", v)
}

// sittingListen starts the instruments, stops them, pauses or goes on.
func (s *Server) sittingListen(w http.ResponseWriter, r *http.Request) error {
	sit, err := s.sittingAsked(r)
	if err != nil {
		return err
	}
	session := s.desk.running(sit.ID)
	switch do := r.PostFormValue("do"); {
	case do == "start" && !sit.Trashed.IsZero():
		err = bad("This sitting is in the trash: bring it back first.")
	case do == "start" && sit.Ended != nil:
		err = bad("This sitting has ended: go on with it first, or begin another.")
	case do == "start":
		if err = s.desk.start(s.nb, sit.ID, s.opt.SetUp); err == nil && session == nil && s.opt.Began != nil {
			s.opt.Began()
		}
	case do == "stop":
		err = s.desk.halt(sit.ID)
	case session == nil:
		err = bad("No instrument is read for this sitting.")
	case do == "pause" || do == "go on":
		err = session.Pause(r.Context(), do == "pause")
	default:
		err = bad("An instrument can be started, paused and stopped.")
	}
	if err != nil {
		return err
	}
	http.Redirect(w, r, sittingPath(sit.ID)+"#live", http.StatusSeeOther)
	return nil
}

// enterReading keeps a reading that a person makes: by the clock of the session where
// instruments are read.
func (s *Server) enterReading(ctx context.Context, sitting notebook.ID, reading notebook.Reading) (int64, error) {
	if session := s.desk.running(sitting); session != nil {
		return session.Enter(ctx, reading)
	}
	reading.At = s.now().UTC()
	return s.nb.Append(ctx, sitting, []notebook.Reading{reading})
}
