package tidewater

import (
	"bufio"
	"fmt"
	"io"
	"strconv"
	"strings"

	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"
	"golang.org/x/text/transform"
)

// shape is the way a program writes a spectrum down.
type shape uint8

const (
	commaMetadata    shape = iota // comma, metadata in comment lines, units in the heading
	spacesUnitsRow                // columns two spaces apart, names, then a row of units
	latinExponents                // Windows-1252, tabs, exponents of three digits
	semicolonComma                // semicolon, decimal comma, byte order mark, CR LF
	spacesDescending              // one space, no heading, from red to violet
	tabComma                      // tabs, decimal comma, a header of a dozen lines
	utf16Tabs                     // UTF-16, little-endian, tabs, CR LF
	tm27                          // IES TM-27
)

// Write writes the lamp's file as its instrument exports it: the same bytes each
// time.
func (l Lamp) Write(w io.Writer) error {
	axis, values := l.read()
	var err error
	switch l.shape {
	case commaMetadata:
		err = l.writeCommaMetadata(w, axis, values)
	case spacesUnitsRow:
		err = l.writeSpacesUnitsRow(w, axis, values)
	case latinExponents:
		err = through(w, charmap.Windows1252.NewEncoder(), func(w io.Writer) error { return l.writeLatinExponents(w, axis, values) })
	case semicolonComma:
		err = l.writeSemicolonComma(w, axis, values)
	case spacesDescending:
		err = l.writeSpacesDescending(w, axis, values)
	case tabComma:
		err = l.writeTabComma(w, axis, values)
	case utf16Tabs:
		err = through(w, unicode.UTF16(unicode.LittleEndian, unicode.UseBOM).NewEncoder(), func(w io.Writer) error { return l.writeUTF16Tabs(w, axis, values) })
	case tm27:
		err = l.writeTM27(w, axis, values)
	}
	if err != nil {
		return fmt.Errorf("tidewater: write %s: %w", l.FileName, err)
	}
	return nil
}

// through writes by way of an encoding.
func through(w io.Writer, t transform.Transformer, write func(io.Writer) error) error {
	tw := transform.NewWriter(w, t)
	if err := write(tw); err != nil {
		return err
	}
	return tw.Close()
}

// The units of the absolute files, as powers of ten of SI.
const (
	microwattPerSquareCentimetre = 1e-2 // W/m²
	milliwatt                    = 1e-3 // W
)

func (l Lamp) writeCommaMetadata(w io.Writer, axis, values []float64) error {
	b := bufio.NewWriter(w)
	fmt.Fprintf(b, "# title: %s\n# lamp: %s\n# place: %s\n# date: 2026-03-14\n# distance: %g m\n# bandwidth: %g nm\n# integration time: 80 ms\n# averages: 25\n# dark subtracted: yes\n",
		l.Name, l.Technology, l.Place, l.Instrument.DistanceM, l.Instrument.BandwidthNm)
	fmt.Fprintf(b, "Wavelength (nm),Irradiance (µW/cm²/nm)\n")
	for i, nm := range axis {
		fmt.Fprintf(b, "%.2f,%.5g\n", nm, values[i]/microwattPerSquareCentimetre)
	}
	return b.Flush()
}

func (l Lamp) writeSpacesUnitsRow(w io.Writer, axis, values []float64) error {
	b := bufio.NewWriter(w)
	fmt.Fprintf(b, "Sphere measurement\n%s (%s)\nSaturday 14 March 2026\n\n", l.Name, l.Place)
	fmt.Fprintf(b, "wavelength  spectral flux\nnm          mW/nm\n")
	for i, nm := range axis {
		fmt.Fprintf(b, "%.0f         %.5f\n", nm, values[i]/milliwatt)
	}
	return b.Flush()
}

func (l Lamp) writeLatinExponents(w io.Writer, axis, values []float64) error {
	b := bufio.NewWriter(w)
	fmt.Fprintf(b, "Instrument\tarray, 200–1100 nm\nLamp\t%s\nRoom temperature\t24.5 °C\nDistance\t%g m\n\n", l.Name, l.Instrument.DistanceM)
	fmt.Fprintf(b, "nm\tµW/cm²/nm\n")
	for i, nm := range axis {
		fmt.Fprintf(b, "%s\t%s\n", threeDigitExponent(nm), threeDigitExponent(values[i]/microwattPerSquareCentimetre))
	}
	return b.Flush()
}

// threeDigitExponent writes 0.0123 as 1.23000e-002, as some programs do.
func threeDigitExponent(v float64) string {
	s := strconv.FormatFloat(v, 'e', 5, 64)
	mantissa, exponent, _ := strings.Cut(s, "e")
	return mantissa + "e" + exponent[:1] + "0" + exponent[1:]
}

func (l Lamp) writeSemicolonComma(w io.Writer, axis, values []float64) error {
	b := bufio.NewWriter(w)
	fmt.Fprintf(b, "\ufeffwavelength / nm;relative spectral power\r\n")
	for i, nm := range axis {
		fmt.Fprintf(b, "%s;%s\r\n", comma("%.1f", nm), comma("%.5f", values[i]))
	}
	return b.Flush()
}

func (l Lamp) writeSpacesDescending(w io.Writer, axis, values []float64) error {
	b := bufio.NewWriter(w)
	fmt.Fprintf(b, "%% %s, monochromator driven downwards\n", l.Name)
	for i := len(axis) - 1; i >= 0; i-- {
		fmt.Fprintf(b, "%.1f %.5f\n", axis[i], values[i])
	}
	return b.Flush()
}

func (l Lamp) writeTabComma(w io.Writer, axis, values []float64) error {
	b := bufio.NewWriter(w)
	fmt.Fprintf(b, "Array spectrometer, club instrument no. 2\n\nSample:\t%s\nPlace:\t%s\nDate:\t14.03.2026\nTime:\t15:42\nIntegration time [ms]:\t%s\nAverages:\t50\nBoxcar:\t0\nDark:\tsubtracted\nResponse:\tcorrected\n\n--- spectrum ---\nWavelength [nm]\tRelative power\n",
		l.Name, l.Place, comma("%.1f", 120.5))
	for i, nm := range axis {
		fmt.Fprintf(b, "%s\t%s\n", comma("%.2f", nm), comma("%.6f", values[i]))
	}
	return b.Flush()
}

func (l Lamp) writeUTF16Tabs(w io.Writer, axis, values []float64) error {
	b := bufio.NewWriter(w)
	fmt.Fprintf(b, "Spectrum\t%s\r\nDate\t2026-03-14 16:05\r\nλ (nm)\tΦ (rel.)\r\n", l.Name)
	for i, nm := range axis {
		fmt.Fprintf(b, "%.2f\t%.6f\r\n", nm, values[i])
	}
	return b.Flush()
}

// writeTM27 writes the elements of IES TM-27-14.
func (l Lamp) writeTM27(w io.Writer, axis, values []float64) error {
	b := bufio.NewWriter(w)
	fmt.Fprintf(b, `<?xml version="1.0"?>
<IESTM2714 xmlns="http://www.ies.org/iestm2714" version="1.0">
  <Header>
    <Manufacturer>none</Manufacturer>
    <Description>%s: %s, %s</Description>
    <DocumentCreator>Tidewater Model Railway Club</DocumentCreator>
    <UniqueIdentifier>%s</UniqueIdentifier>
    <ReportDate>2026-03-14</ReportDate>
    <DocumentCreationDate>2026-03-14</DocumentCreationDate>
    <Comments>Invented lamp. Burned 40 min; dark subtracted, response corrected.</Comments>
  </Header>
  <SpectralDistribution>
    <SpectralQuantity>relative</SpectralQuantity>
    <BandwidthFWHM>%g</BandwidthFWHM>
    <BandwidthCorrected>false</BandwidthCorrected>
`, l.Name, l.Technology, l.Place, l.Slug, l.Instrument.BandwidthNm)
	for i, nm := range axis {
		fmt.Fprintf(b, "    <SpectralData wavelength=\"%.1f\">%.6f</SpectralData>\n", nm, values[i])
	}
	fmt.Fprintf(b, "  </SpectralDistribution>\n</IESTM2714>\n")
	return b.Flush()
}

// comma formats with a decimal comma.
func comma(format string, v float64) string {
	return strings.Replace(fmt.Sprintf(format, v), ".", ",", 1)
}
