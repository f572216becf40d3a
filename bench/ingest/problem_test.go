package ingest

import (
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"

	"lampassay/light/spectrum"
)

// endless yields the same bytes for ever.
type endless string

func (e endless) Read(p []byte) (int, error) {
	n := 0
	for n < len(p) {
		n += copy(p[n:], e)
	}
	return n, nil
}

func TestBadInputIsOneSentence(t *testing.T) {
	tabulated := spectrum.Tabulated
	table := "380,0.1\n381,0.2\n382,0.3\n383,0.4\n384,0.5\n"
	for _, c := range []struct {
		name  string
		input string
		o     Options
		want  string
	}{
		{"empty", "", Options{}, "x.csv: found nothing: the file is empty; a spectrum is rows of wavelength and value"},
		{"blank lines", "\n\n \n", Options{}, "x.csv: found no rows of numbers; a spectrum is rows of a wavelength and a value"},
		{"letters only", "the quick brown fox\njumps\n", Options{}, "x.csv: found no rows of numbers; a spectrum is rows of a wavelength and a value"},
		{"one row", "nm,value\n380,0.1\n", Options{}, "x.csv, line 2: found the only row of numbers; a spectrum needs at least two, each a wavelength and a value"},
		{"one column", "0.1\n0.2\n0.3\n", Options{}, "x.csv, line 1: found a single column of numbers; a spectrum needs a column of wavelengths and one of values"},
		{"10⁶ columns in a line", strings.Repeat("1,", 1e6), Options{}, "x.csv, line 1: found the only row of numbers; a spectrum needs at least two, each a wavelength and a value"},
		{"text in the table", table + "abc,0.6\n385,0.7\n386,0.8\n387,0.9\n", Options{}, "x.csv, line 6: found “abc” where a wavelength should be; correct or remove the line"},
		{"text for a value", table + "385,abc\n386,0.8\n", Options{}, "x.csv, line 6: found “abc” where a value should be; correct or remove the line"},
		{"a number alone in the table", table + "385\n386,0.8\n387,0.7\n", Options{}, "x.csv, line 6: found “385” without a value; correct or remove the line"},
		{"an unterminated quote", "nm,value\n" + table + "385,\"0.6\n386,0.7\n", Options{}, "x.csv, line 7: found “\"0.6” where a value should be; correct or remove the line"},
		{"duplicates that differ", table + "382,0.9\n", Options{}, "x.csv, line 6: found 382 a second time, with the value 0.9 where line 3 has 0.3; a wavelength can have one value: remove the wrong row"},
		{"ångström", "3800,1\n3810,2\n3820,3\n", Options{}, "x.csv: found wavelengths from 3800 to 3820, which cannot be nanometres of light; if they are ångström say --wavelength-unit angstrom"},
		{"ångström by its heading", "Wavelength (Å),v\n3800,1\n3810,2\n", Options{}, "x.csv: found a wavelength column headed in angstrom, 3800 to 3810; to convert it to nm say --wavelength-unit angstrom"},
		{"micrometres", "0.38,1\n0.39,2\n0.4,3\n", Options{}, "x.csv: found wavelengths from 0.38 to 0.4, which cannot be nanometres of light; if they are micrometres say --wavelength-unit micrometre"},
		{"wavenumbers", "12500,1\n20000,2\n25000,3\n", Options{}, "x.csv: found wavelengths from 12500 to 25000, which cannot be nanometres of light; if they are wavenumbers in cm⁻¹ say --wavelength-unit wavenumber or --wavelength-unit wavenumber-density"},
		{"pixels", pixels(40), Options{}, "x.csv: found a first column of pixels, 0 to 39; attach the instrument's wavelength calibration, or save the file with wavelengths in nm"},
		{"no light", "1500,1\n1600,2\n", Options{}, "x.csv: found wavelengths from 1500 to 1600, which cannot be nanometres of light; if they are ångström say --wavelength-unit angstrom"},
		{"too many lines", strings.Repeat("1\n", maxLines+1), Options{}, "x.csv: found more than 1048576 lines; a spectrum has fewer wavelengths: check that this is the right file"},
		{"a spreadsheet", "PK\x03\x04\x14\x00", Options{}, "x.csv: found a spreadsheet or zip archive that is damaged; save it again"},
		{"a picture", "\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR", Options{}, "x.csv: found a PNG picture; export the numbers as text"},
		{"binary", "\x00\x01\x02\x03\x00\x00\x07\x08\x00", Options{}, "x.csv: found binary data; export the numbers as text"},
		{"only missing values", "380,NaN\n381,OL\n382,---\n", Options{}, "x.csv: found 0 rows with a wavelength and a value; a spectrum needs at least two"},
		{"a column that is not there", table, Options{Column: 4}, "x.csv, line 1: found 2 columns; column 4 was to be read"},
		{"the wavelengths asked for", table, Options{Column: 1}, "x.csv: found wavelengths in column 1; choose a column of values"},
		{"an uneven table", "380,1\n381,2\n383,3\n", Options{Projection: &tabulated}, "x.csv: found wavelengths that are no even run of whole nanometres; read them as a curve: --projection sampled"},
		{"a web page", "<!DOCTYPE html><html><body>380,1</body></html>", Options{}, "x.csv: found a web page; save the spectrum itself, as text or TM-27"},
		{"a web page without a type", "<html><body>380</body></html>", Options{}, "x.csv: found a web page; save the spectrum itself, as text or TM-27"},
		{"other XML", "<document><a/></document>", Options{}, "x.csv: found XML with the root “document”; of XML only TM-27 is read, whose root is IESTM2714"},
		{"an XML bomb", `<?xml version="1.0"?><!DOCTYPE b [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;&a;">]><IESTM2714>&b;</IESTM2714>`, Options{}, "x.csv, line 1: found a document type declaration; TM-27 files have none: remove it"},
		{"deep nesting", "<IESTM2714><Header>" + strings.Repeat("<a>", 1e5), Options{}, "x.csv, line 1: found elements more than 32 deep; TM-27 files are flat: export the file again"},
		{"TM-27 that breaks off", "<IESTM2714><Header>\n", Options{}, "x.csv, line 2: found broken XML (unexpected EOF); export the file again"},
		{"TM-27 without samples", "<IESTM2714><Header/></IESTM2714>", Options{}, "x.csv: found 0 SpectralData elements with a value; a spectrum needs at least two"},
		{"TM-27 with a word for a wavelength", "<IESTM2714><SpectralDistribution>\n<SpectralData wavelength=\"red\">1</SpectralData></SpectralDistribution></IESTM2714>", Options{}, "x.csv, line 2: found “red” where a wavelength should be; a plain number in nm, with a decimal point"},
		{"TM-27 of a filter", "<IESTM2714><SpectralDistribution><SpectralQuantity>transmittance</SpectralQuantity><SpectralData wavelength=\"400\">1</SpectralData><SpectralData wavelength=\"410\">1</SpectralData></SpectralDistribution></IESTM2714>", Options{}, "x.csv: found the SpectralQuantity “transmittance”; a lamp's spectrum is relative, flux, intensity, irradiance or radiance: --spectrum says which"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := Read("folder/x.csv", strings.NewReader(c.input), c.o)
			var p *Problem
			if !errors.As(err, &p) {
				t.Fatalf("%v; want a Problem", err)
			}
			if err.Error() != c.want {
				t.Errorf("got  %s\nwant %s", err, c.want)
			}
			// Opening it as a batch must not be cleverer: the same, or left to Read.
			if _, err := OpenWide("folder/x.csv", strings.NewReader(c.input), int64(len(c.input)), c.o); err == nil {
				t.Error("opened as a batch")
			}
		})
	}
}

func pixels(n int) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, "%d,0.5\n", i)
	}
	return b.String()
}

func TestAnEndlessStreamIsLeftEarly(t *testing.T) {
	taken := &counter{r: endless("380.5,0.25\n")}
	_, err := Read("pipe", taken, Options{MaxBytes: 1 << 20})
	if want := "pipe: found more than 1 MB; one measurement is smaller: check that this is the right file"; err == nil || err.Error() != want {
		t.Errorf("got %v\nwant %s", err, want)
	}
	if taken.n > 2<<20 {
		t.Errorf("took %d bytes of a stream limited to 1 MiB", taken.n)
	}
}

type counter struct {
	r io.Reader
	n int64
}

func (c *counter) Read(p []byte) (int, error) {
	n, err := c.r.Read(p)
	c.n += int64(n)
	return n, err
}

func TestAReaderThatFailsIsNoProblemOfTheFile(t *testing.T) {
	broken := errors.New("the disk is gone")
	_, err := Read("x", io.MultiReader(strings.NewReader("380,1\n"), failing{broken}), Options{})
	var p *Problem
	if !errors.Is(err, broken) || errors.As(err, &p) {
		t.Errorf("%v; want the reader's error", err)
	}
}

type failing struct{ err error }

func (f failing) Read([]byte) (int, error) { return 0, f.err }
