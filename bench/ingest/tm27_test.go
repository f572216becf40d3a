package ingest

import (
	"bytes"
	"os"
	"reflect"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"lampassay/light/spectrum"
)

// checkTM27 writes a spectrum and reads it back.
func checkTM27(tb rapid.TB, s *spectrum.Spectrum, of *TM27) {
	var b bytes.Buffer
	if err := WriteTM27(&b, s, of); err != nil {
		tb.Fatal(err)
	}
	f, err := ReadTM27("x.spdx", bytes.NewReader(b.Bytes()), Options{})
	if err != nil {
		tb.Fatalf("%v in\n%s", err, b.Bytes())
	}
	if !slices.EqualFunc(f.Spectrum.Axis(), s.Axis(), same) || !slices.EqualFunc(f.Spectrum.Values(), s.Values(), same) || f.Spectrum.Quantity() != s.Quantity() {
		tb.Fatalf("samples changed: %v %v\nwant %v %v", f.Spectrum.Axis(), f.Spectrum.Values(), s.Axis(), s.Values())
	}
	if !reflect.DeepEqual(f.TM27, of) {
		tb.Fatalf("header changed: %+v\nwant %+v", f.TM27, of)
	}
}

func TestTheMinimalTM27FileIsReadAndWritten(t *testing.T) {
	raw, err := os.ReadFile("testdata/minimal.spdx")
	if err != nil {
		t.Fatal(err)
	}
	f, err := Read("minimal.spdx", bytes.NewReader(raw), Options{})
	if err != nil {
		t.Fatal(err)
	}
	if want := []float64{587, 588.4, 589.3, 590.2, 591.6}; !slices.Equal(f.Spectrum.Axis(), want) {
		t.Errorf("wavelengths %v; want %v", f.Spectrum.Axis(), want)
	}
	if want := []float64{0.06, 0.71, 1, 0.69, 0.05}; !slices.Equal(f.Spectrum.Values(), want) {
		t.Errorf("values %v; want %v", f.Spectrum.Values(), want)
	}
	if f.Spectrum.Quantity() != spectrum.Relative || f.Projection != spectrum.Sampled || len(f.Report.Warnings) > 0 {
		t.Errorf("%v, %v, warnings %q", f.Spectrum.Quantity(), f.Projection, f.Report.Warnings)
	}
	if len(f.TM27.Header) != 7 || !reflect.DeepEqual(f.TM27.Header[3], Element{Name: "UniqueIdentifier", Text: "bench-0003"}) || len(f.TM27.Distribution) != 2 {
		t.Errorf("beside the samples: %+v", f.TM27)
	}
	checkTM27(t, f.Spectrum, f.TM27)
}

func TestTM27NeedsNeitherNamespaceNorOrder(t *testing.T) {
	for name, text := range map[string]string{
		"no namespace, data first": `<IESTM2714><SpectralDistribution><SpectralData wavelength="410">2</SpectralData><SpectralData wavelength="400">1</SpectralData><SpectralQuantity>flux</SpectralQuantity></SpectralDistribution><Header><Comments>c</Comments></Header></IESTM2714>`,
		"prefix":                   `<?xml version="1.0" encoding="ISO-8859-1"?><?xml-stylesheet type="text/xsl" href="TM-27-14.xsl"?><t:IESTM2714 xmlns:t="http://www.ies.org/iestm2714"><t:Header><t:Comments>c</t:Comments></t:Header><t:SpectralDistribution><t:SpectralQuantity>flux</t:SpectralQuantity><t:SpectralData wavelength="400">1</t:SpectralData><t:SpectralData wavelength="410">2</t:SpectralData></t:SpectralDistribution></t:IESTM2714>`,
	} {
		t.Run(name, func(t *testing.T) {
			f, err := Read("x", strings.NewReader(text), Options{})
			if err != nil {
				t.Fatal(err)
			}
			if !slices.Equal(f.Spectrum.Values(), []float64{1, 2}) || f.Spectrum.Quantity() != spectrum.Flux {
				t.Errorf("%v %v", f.Spectrum.Quantity(), f.Spectrum.Values())
			}
			if !slices.Equal(f.Report.Metadata, []Pair{{"Comments", "c"}}) {
				t.Errorf("metadata %v", f.Report.Metadata)
			}
			if want := "TM-27 gives flux without a unit: W/nm is assumed"; !slices.Contains(f.Report.Warnings, want) {
				t.Errorf("warnings %q lack %q", f.Report.Warnings, want)
			}
		})
	}
}

func TestTextIsNoTM27(t *testing.T) {
	if _, err := ReadTM27("x.csv", strings.NewReader("380,1\n390,2\n"), Options{}); err == nil || err.Error() != "x.csv: found text; a TM-27 file is XML with the root IESTM2714" {
		t.Error(err)
	}
}

func TestNamesThatXMLCannotWriteAreRefused(t *testing.T) {
	s, err := spectrum.New(spectrum.Relative, []float64{400, 410}, []float64{1, 2})
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range []Element{{Name: "a b"}, {Name: ""}, {Name: "a><b"}, {Name: "a", Attributes: []Pair{{"1", ""}}}} {
		if err := WriteTM27(new(bytes.Buffer), s, &TM27{Header: []Element{e}}); err == nil {
			t.Errorf("%+v was written", e)
		}
	}
}
