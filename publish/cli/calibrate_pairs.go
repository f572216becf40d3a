package cli

import (
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"lampassay/light/calibration"
)

// given reads the pairs of peak and line that the user is sure of.
func (o *wavelengthOptions) given(files []string) (pairs []calibration.GivenPair, err error) {
	for _, text := range o.pairs {
		peak, line, _ := strings.Cut(text, "=")
		var p calibration.GivenPair
		if at := strings.LastIndex(peak, ":"); at >= 0 {
			if p.Recording, err = fileCalled(peak[:at], files, text); err != nil {
				return nil, err
			}
			peak = peak[at+1:]
		} else if len(files) > 1 {
			return nil, badInput("--pair %s: in which file? Write it like %s:%s", text, filepath.Base(files[0]), text)
		}
		var errPixel, errNm error
		p.Pixel, errPixel = strconv.ParseFloat(strings.TrimSpace(peak), 64)
		p.Nm, errNm = strconv.ParseFloat(strings.TrimSpace(line), 64)
		if errPixel != nil || errNm != nil {
			return nil, badInput("--pair %q: write the pixel of a peak and the wavelength of its line in nm, like 812=546.075", text)
		}
		pairs = append(pairs, p)
	}
	return pairs, nil
}

// fileCalled finds a file by its path or by its name without the folder.
func fileCalled(name string, files []string, text string) (int, error) {
	if at := slices.Index(files, name); at >= 0 {
		return at, nil
	}
	names := make([]string, len(files))
	for i, f := range files {
		names[i] = filepath.Base(f)
	}
	at := slices.Index(names, name)
	switch {
	case at < 0:
		return 0, badInput("--pair %s: no file is called %s: there is %s", text, name, strings.Join(names, ", "))
	case slices.Contains(names[at+1:], name):
		return 0, badInput("--pair %s: two files are called %s: give its path as well", text, name)
	}
	return at, nil
}
