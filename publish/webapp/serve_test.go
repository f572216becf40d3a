package webapp

import (
	"context"
	"errors"
	"io"
	"log/slog"
	"net"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"lampassay/bench/notebook"
)

// failing is a notebook whose disk fails when something is written.
type failing struct {
	notebook.Notebook
	err error
}

func (f *failing) Append(context.Context, notebook.ID, []notebook.Reading) (int64, error) {
	return 0, f.err
}

func TestAFaultOfTheDiskIsOneSentence(t *testing.T) {
	for _, c := range []struct {
		err    error
		status int
		says   string
	}{
		{notebook.Errorf(notebook.Full, "the disk is full: nothing was written"), http.StatusInsufficientStorage, "The disk is full: nothing was written."},
		{notebook.Errorf(notebook.ReadOnly, "the notebook cannot be written"), http.StatusInsufficientStorage, "The notebook cannot be written."},
		{errors.New("pq: secret at /home/somebody"), http.StatusInternalServerError, "What was acknowledged before is kept"},
	} {
		b := newBench(t)
		b.must("/lamps", url.Values{"name": {"Kitchen tube"}})
		b.must("/sittings", url.Values{"lamp": {"1"}})
		var log strings.Builder
		bad := serveNotebook(t, &failing{b.nb, c.err}, func(o *Options) { o.Log = slog.New(slog.NewTextHandler(&log, nil)) })
		a := bad.post("/sittings/1/reading", url.Values{"power": {"36"}})
		if a.status != c.status {
			t.Errorf("%v is answered with %d", c.err, a.status)
		}
		want(t, a.body, c.says)
		if strings.Contains(a.body, "secret") {
			t.Error("the page shows the machine's insides")
		}
		if !strings.Contains(log.String(), c.err.Error()) {
			t.Errorf("the log does not say %q: %s", c.err, log.String())
		}
	}
}

func TestServingEndsWithItsStreams(t *testing.T) {
	b := newBench(t)
	at, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	s, err := New(Options{Notebook: b.nb, Hosts: []string{at.Addr().String()}})
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	listen := new(http.Server)
	go func() { ended <- s.Serve(ctx, listen, func() error { return listen.Serve(at) }) }()
	res, err := http.Get("http://" + at.Addr().String() + "/events?after=0")
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	stop()
	select {
	case err := <-ended:
		if err != nil {
			t.Error(err)
		}
	case <-time.After(4 * time.Second):
		t.Fatal("a stream keeps the server from ending")
	}
	if _, err := io.ReadAll(res.Body); err != nil {
		t.Errorf("the stream is cut and not ended: %v", err)
	}
}

func TestTheWholeNotebookIsVerified(t *testing.T) {
	b := newBench(t)
	b.must("/lamps", url.Values{"name": {"Kitchen tube"}})
	want(t, b.must("/verify", nil).body, "1 record, 0 readings and 0 files were read. Everything holds.")
}
