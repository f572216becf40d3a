package webapp

import (
	"net/url"
	"testing"

	"lampassay/publish/internal/browser"

	"lampassay/bench/notebook"
)

func TestTwoWhoDoTheSameDoItOnce(t *testing.T) {
	b := newBench(t)
	b.must("/lamps", url.Values{"name": {"Kitchen tube"}})
	b.must("/sittings", url.Values{"lamp": {"1"}})
	now := func() *notebook.Sitting {
		sit, err := b.nb.Sittings().Get(t.Context(), 1)
		if err != nil {
			t.Fatal(err)
		}
		return sit
	}
	for _, one := range []struct {
		path   string
		fields url.Values
		is     func(*notebook.Sitting) bool
	}{
		{"/sittings/1/step", url.Values{"step": {"0"}, "done": {"yes"}}, func(s *notebook.Sitting) bool { return s.Checklist[0].Done != nil }},
		{"/sittings/1/step", url.Values{"step": {"0"}, "done": {"no"}}, func(s *notebook.Sitting) bool { return s.Checklist[0].Done == nil }},
		{"/sittings/1/end", url.Values{"do": {"end"}}, func(s *notebook.Sitting) bool { return s.Ended != nil }},
		{"/sittings/1/end", url.Values{"do": {"go on"}}, func(s *notebook.Sitting) bool { return s.Ended == nil }},
	} {
		before := now()
		b.must(one.path, one.fields)
		first := now()
		b.must(one.path, one.fields)
		if second := now(); !one.is(first) || !one.is(second) || first.Revision == before.Revision || second.Revision != first.Revision {
			t.Errorf("%s with %v twice makes revision %d of %d, then %d", one.path, one.fields, first.Revision, before.Revision, second.Revision)
		}
	}
}

func TestASecondBrowserSeesWhatIsStartedAndEnded(t *testing.T) {
	b := newBench(t, func(o *Options) {
		o.SetUp = []byte(`{"sources": [{"kind": "push", "channel": "board", "token": "invented-token-of-the-club"}]}`)
	})
	t.Cleanup(func() {
		if err := b.server.Close(); err != nil {
			t.Error(err)
		}
	})
	b.must("/lamps", url.Values{"name": {"Kitchen tube"}})
	b.must("/sittings", url.Values{"lamp": {"1"}})
	p := browser.Open(t, b.http.URL)
	p.Visit("/sittings/1")
	p.Said("Read the instruments")
	b.must("/sittings/1/listen", url.Values{"do": {"start"}})
	p.Said("Stop the instruments")
	b.must("/sittings/1/listen", url.Values{"do": {"stop"}})
	p.Said("Read the instruments")

	p.Fill("[name=power]", "58,2") // half of what is read
	b.must("/sittings/1/step", url.Values{"step": {"0"}, "done": {"yes"}})
	p.Await("the tick", `document.querySelector("li.ticked") !== null`)
	b.must("/sittings/1/end", url.Values{"do": {"end"}})
	p.Said("Go on with this sitting")
	p.Said("ended")
	if got := browser.Ask[string](p, `document.querySelector("[name=power]").value`); got != "58,2" {
		t.Errorf("of a number that was half typed %q is left", got)
	}
	if got := browser.Ask[bool](p, `document.getElementById("desk").querySelector("form") === null`); !got {
		t.Error("the instruments of a sitting that has ended can be started")
	}
	b.must("/sittings/1/end", url.Values{"do": {"go on"}})
	p.Said("End this sitting")
	p.Said("Read the instruments")
	p.Quiet()
}
