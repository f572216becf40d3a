package cli

import (
	"bytes"
	"context"
	"errors"
	"strings"
	"testing"
	"time"

	"lampassay/bench/live"
	"lampassay/bench/notebook"
)

// full is a disk that takes nothing.
type full struct{}

func (full) Append(context.Context, []notebook.Reading) (int64, error) {
	return 0, notebook.Errorf(notebook.Full, "there is no room")
}

func TestWhatIsNoInstrumentsTroubleIsSaidWithoutAName(t *testing.T) {
	session := live.Open(t.Context(), full{}, live.Options{Retry: time.Millisecond})
	if _, err := session.Mark(t.Context(), "the lamp hums"); notebook.CodeOf(err) != notebook.Full {
		t.Fatal(err)
	}
	var said bytes.Buffer
	followed, quit := context.WithCancel(t.Context())
	time.AfterFunc(100*time.Millisecond, quit)
	r := &recording{o: &recordOptions{}, s: streams{err: &said}, session: session}
	if err := errors.Join(r.events(followed), session.Close()); err != nil {
		t.Error(err)
	}
	if want := "lampassay: readings cannot be kept: there is no room; trying again until they can\n"; said.String() != want {
		t.Errorf("%q, want %q", said.String(), want)
	}
	if got := trouble(live.Event{Channel: "lux", Text: "no line for 10s"}); !strings.HasPrefix(got, "lux: ") {
		t.Errorf("%q", got)
	}
}
