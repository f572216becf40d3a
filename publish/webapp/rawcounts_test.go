package webapp

import (
	"net/url"
	"strings"
	"testing"

	"lampassay/bench/notebook"
)

// Of raw counts that a spectrometer of the sitting can correct the dark is asked for
// first, and one that was recorded last is offered.
func TestImportedCountsAskForTheirDark(t *testing.T) {
	b := newBench(t)
	_, kept := b.clubSpectrometer()
	b.sit(notebook.SetUp{}, kept.ID)
	var last answer
	for _, name := range []string{"harbour-panel-40ms.csv", "dark-40ms.csv"} {
		seen := b.upload("/import", name, clubRecording(t, name), url.Values{"sitting": {"1"}})
		want(t, seen.body, "Keep it These are raw counts", "the sitting’s page asks for their dark")
		if strings.Contains(seen.body, "compute the assay<") || strings.Contains(seen.body, "data-wait") {
			t.Errorf("the page of %s promises an assay", name)
		}
		path, _, _ := strings.Cut(seen.path, "?")
		last = b.must(path, url.Values{"name": {name}, "sitting": {"1"}})
		want(t, last.body, "These are raw counts: choose their dark, then compute.")
	}
	want(t, last.body, "it looks like one of the lamp switched off")
	if !strings.Contains(last.body, `name="dark" value="2"`) {
		_, field, _ := strings.Cut(last.body, `name="dark"`)
		t.Errorf("the dark is not offered: %.200s", field)
	}
}
