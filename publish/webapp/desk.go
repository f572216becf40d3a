package webapp

import (
	"bytes"
	"context"
	"errors"
	"net/http"
	"slices"
	"strings"
	"sync"
	"time"

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
		return notStarted(err)
	}
	ctx, stop := context.WithCancel(context.Background())
	session := live.Open(ctx, live.Into(nb, sitting), live.Options{Rate: c.Rate})
	var push []*live.Push
	if err := session.SetOffsets(ctx, c.Offsets); err != nil {
		stop()
		return errors.Join(err, session.Close())
	}
	for _, src := range c.Sources {
		if err := session.Start(src); err != nil {
			stop()
			return errors.Join(notStarted(err), session.Close())
		}
		if p, is := src.(*live.Push); is && p.Listen == "" {
			push = append(push, p)
		}
	}
	d.sitting, d.session, d.push, d.stop = sitting, session, push, stop
	return nil
}

// notStarted says why an instrument cannot be read.
func notStarted(err error) error {
	return bad("%s", sentence(strings.TrimPrefix(err.Error(), "live: ")))
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

// pushPath is where boards send their readings to.
const pushPath = "/push"

// pushed hands what a board sends to the source whose token it carries. It is not from
// a page: the token in the request is what lets it in.
func (s *Server) pushed(w http.ResponseWriter, r *http.Request) {
	s.desk.mu.Lock()
	sources := slices.Clone(s.desk.push)
	s.desk.mu.Unlock()
	live.Doors(sources).ServeHTTP(w, r)
}

// turnAway answers what is not for this server: a board in its own language.
func turnAway(w http.ResponseWriter, r *http.Request, status int, sentence string) {
	if r.URL.Path == pushPath {
		live.RefusePush(w, status, sentence)
		return
	}
	http.Error(w, sentence, status)
}

// deskView is how the instruments stand.
type deskView struct {
	Sitting  notebook.ID
	Set      bool // there are instruments
	Running  bool
	Paused   bool
	Rate     float64 // how many times faster than time the instruments run
	Statuses []live.Status
	Log      []live.Event // the newest first
	Token    string
	Clock    *fields  // of the form for a clock's offset
	Clocks   []choice // whose clock it can be
}

// loggedShown is how much of the command log the page shows.
const loggedShown = 24

// deskOf tells how the instruments stand; f is a form of theirs that could not be
// taken, or nil.
func (s *Server) deskOf(sitting notebook.ID, f *form) *deskView {
	v := &deskView{Sitting: sitting, Set: len(s.opt.SetUp) > 0, Token: s.guard.token, Clock: f.For("clock")}
	if c, err := live.ReadConfig("the set-up of the bench", bytes.NewReader(s.opt.SetUp)); v.Set && err == nil {
		v.Rate = c.Rate
	}
	session := s.desk.running(sitting)
	if session == nil {
		return v
	}
	v.Running, v.Paused = true, session.Paused()
	v.Statuses = slices.DeleteFunc(session.Statuses(), func(one live.Status) bool { return !one.Running && one.Trouble == "" })
	for _, one := range v.Statuses {
		if one.Running {
			v.Clocks = append(v.Clocks, choice{one.Channel, one.Channel})
		}
	}
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
	v.Data = s.deskOf(id, nil)
	return s.show(w, "desk-alone", v)
}

// sittingListen starts the instruments, stops them, pauses or goes on, or sets one's
// clock right.
func (s *Server) sittingListen(w http.ResponseWriter, r *http.Request) error {
	sit, err := s.sittingAsked(r)
	if err != nil {
		return err
	}
	l, err := s.nb.Lamps().Get(r.Context(), sit.Lamp)
	if err != nil {
		return err
	}
	session := s.desk.running(sit.ID)
	switch do := r.PostFormValue("do"); {
	case do == "start" && !sit.Trashed.IsZero():
		err = bad("This sitting is in the trash: bring it back first.")
	case do == "start" && !l.Trashed.IsZero():
		err = inUse(l)
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
	case do == "offset":
		f := formOf(r, "clock")
		if err = moveClock(f, session); err != nil {
			return s.again(f, err, func(status int) error { return s.showSitting(w, r, status, sit, f) })
		}
	default:
		err = bad("An instrument can be started, paused and stopped.")
	}
	if err != nil {
		return err
	}
	http.Redirect(w, r, sittingPath(sit.ID)+"#live", http.StatusSeeOther)
	return nil
}

// moveClock sets the offset of an instrument's clock.
func moveClock(f *form, session *live.Session) error {
	channel := f.text("channel")
	if !slices.ContainsFunc(session.Statuses(), func(one live.Status) bool { return one.Running && one.Channel == channel }) {
		f.wrong("channel", "No instrument that is read goes by the name “%s”: choose one of the list.", clip(channel, 40))
	}
	var offset time.Duration
	if seconds := f.number("seconds", "an offset"); seconds == nil {
		f.wrong("seconds", "Write how many seconds are added, 0 for none.")
	} else {
		var err error
		if offset, err = live.ParseOffset(*seconds); err != nil {
			f.wrong("seconds", "%s", sentence(err.Error()))
		}
	}
	if f.err != nil {
		return f.err
	}
	return session.SetOffset(f.r.Context(), channel, offset)
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
