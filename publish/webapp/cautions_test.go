package webapp

import (
	"io/fs"
	"net/url"
	"regexp"
	"strings"
	"testing"
)

func TestEveryPageThatAsksForALitLampHasCautionsFirst(t *testing.T) {
	b := newBench(t)
	b.must("/lamps", url.Values{"name": {"Kitchen tube"}, "technology": {"fluorescent"}})
	b.must("/sittings", url.Values{"lamp": {"1"}})
	b.must("/instruments", url.Values{"name": {"Desk spectrometer"}, "sort": {"spectrometer"}})
	for page, says := range map[string]string{
		"/lamps/1/sit":              "It holds mercury",
		"/sittings/1":               "It holds mercury",
		"/instruments/1/wavelength": "It holds mercury",
		"/instruments/1/response":   "Hot for many minutes",
		"/instruments/1/stray":      "Hot for many minutes",
	} {
		body := b.page(page)
		want(t, body, "Before you switch on", says)
		if caution, form := strings.Index(body, "Before you switch on"), strings.Index(body, `<form class="fields`); form >= 0 && caution > form {
			t.Errorf("%s: the cautions do not stand before the form", page)
		}
	}
	want(t, b.page("/instruments/1/wavelength"), "High voltage for as long as it is on", "Ultraviolet without a warning", "Only on its own gear", "It holds metallic sodium", "Under pressure even when cold")
}

func TestEveryTemplateThatAsksForARecordingOfALampHasCautions(t *testing.T) {
	paths, err := fs.Glob(sources, "templates/*.html")
	if err != nil {
		t.Fatal(err)
	}
	define := regexp.MustCompile(`(?m)^\{\{define "`)
	asking := 0
	for _, path := range paths {
		raw, err := fs.ReadFile(sources, path)
		if err != nil {
			t.Fatal(err)
		}
		for _, one := range define.Split(string(raw), -1) {
			if !strings.Contains(one, "a count for each pixel") {
				continue
			}
			asking++
			if name, _, _ := strings.Cut(one, `"`); !strings.Contains(one, `{{template "cautions"`) {
				t.Errorf("%s asks for the light of a lamp without a caution", name)
			}
		}
	}
	if asking < 3 {
		t.Errorf("%d templates ask for the recording of a lamp, and there are three calibrations by lamps", asking)
	}
}
