package waveform

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"errors"
	"math"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"

	"lampassay/bench/ingest"
)

// le appends numbers, little end first.
func le(values ...any) []byte {
	var b bytes.Buffer
	for _, v := range values {
		if err := binary.Write(&b, binary.LittleEndian, v); err != nil {
			panic(err)
		}
	}
	return b.Bytes()
}

func chunk(id string, body []byte) []byte {
	out := append(append([]byte(id), le(uint32(len(body)))...), body...)
	if len(body)%2 == 1 {
		out = append(out, 0)
	}
	return out
}

func riff(chunks ...[]byte) []byte {
	body := append([]byte("WAVE"), bytes.Join(chunks, nil)...)
	return chunk("RIFF", body)
}

// formatOf makes the chunk of a plain format.
func formatOf(tag, channels uint16, rate uint32, bits uint16) []byte {
	frame := channels * (bits / 8)
	return chunk("fmt ", le(tag, channels, rate, rate*uint32(frame), frame, bits))
}

func extensible(channels uint16, container, valid, tag uint16) []byte {
	frame := channels * (container / 8)
	return chunk("fmt ", append(le(uint16(tagExtensible), channels, uint32(1000), uint32(1000)*uint32(frame), frame, container, uint16(22), valid, uint32(0), tag), extensibleTail...))
}

func TestEveryKindOfSampleIsDecoded(t *testing.T) {
	for _, c := range []struct {
		name    string
		raw     []byte
		want    [][]float64
		clipped int // in the first channel
	}{
		{"8 bits", riff(formatOf(1, 1, 1000, 8), chunk("data", []byte{0, 64, 128, 192, 255})), [][]float64{{-1, -0.5, 0, 0.5, 127. / 128}}, 2},
		{"16 bits", riff(formatOf(1, 1, 1000, 16), chunk("data", le(int16(-32768), int16(-16384), int16(0), int16(32767)))), [][]float64{{-1, -0.5, 0, 32767. / 32768}}, 2},
		{"24 bits", riff(formatOf(1, 1, 1000, 24), chunk("data", []byte{0, 0, 0x80, 0, 0, 0xC0, 1, 0, 0, 0xFF, 0xFF, 0x7F})), [][]float64{{-1, -0.5, 1. / (1 << 23), 1 - 1./(1<<23)}}, 2},
		{"32 bits", riff(formatOf(1, 1, 1000, 32), chunk("data", le(int32(math.MinInt32), int32(1<<30), int32(math.MaxInt32)))), [][]float64{{-1, 0.5, 1 - 1./(1<<31)}}, 2},
		{"floating point of 32 bits", riff(formatOf(3, 1, 1000, 32), chunk("data", le(float32(0.5), float32(-1.5), float32(0.25)))), [][]float64{{0.5, -1.5, 0.25}}, 1},
		{"floating point of 64 bits", riff(formatOf(3, 1, 1000, 64), chunk("data", le(0.1, -0.2))), [][]float64{{0.1, -0.2}}, 0},
		{"two channels", riff(formatOf(1, 2, 1000, 16), chunk("data", le(int16(16384), int16(-8192), int16(8192), int16(0)))), [][]float64{{0.5, 0.25}, {-0.25, 0}}, 0},
		{"extensible, 20 bits in 24", riff(extensible(1, 24, 20, 1), chunk("data", []byte{0, 0, 0x40, 0xF0, 0xFF, 0x7F})), [][]float64{{0.5, 1 - 1./(1<<19)}}, 1},
		{"extensible floating point", riff(extensible(1, 32, 32, 3), chunk("data", le(float32(0.5), float32(0.25)))), [][]float64{{0.5, 0.25}}, 0},
		{"other chunks, one of odd length", riff(chunk("JUNK", []byte("abc")), formatOf(1, 1, 1000, 8), chunk("LIST", []byte("x")), chunk("data", []byte{192, 160, 128}), chunk("id3 ", []byte("tail"))), [][]float64{{0.5, 0.25, 0}}, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			r, err := ReadWAV("x", bytes.NewReader(c.raw), Options{})
			if err != nil {
				t.Fatal(err)
			}
			if r.Step != 1e-3 || len(r.Channels) != len(c.want) {
				t.Fatalf("%d channels by %g s", len(r.Channels), r.Step)
			}
			for i, want := range c.want {
				if !slices.Equal(r.Channels[i].Samples, want) {
					t.Errorf("channel %d: %v; want %v", i+1, r.Channels[i].Samples, want)
				}
			}
			if r.Channels[0].Clipped != c.clipped {
				t.Errorf("%d clipped; want %d", r.Channels[0].Clipped, c.clipped)
			}
		})
	}
}

func TestARecorderThatLeftNoLengthIsReadToTheEnd(t *testing.T) {
	samples := []byte{192, 160, 128, 140}
	for name, size := range map[string]uint32{"zero": 0, "the largest": math.MaxUint32} {
		raw := append(riff(formatOf(1, 1, 1000, 8)), append([]byte("data"), append(le(size), samples...)...)...)
		r, err := ReadWAV("x", bytes.NewReader(raw), Options{})
		if err != nil || len(r.Channels[0].Samples) != 4 || !strings.Contains(strings.Join(r.Warnings, ""), "left no length") {
			t.Errorf("%s: %+v, %v", name, r, err)
		}
	}
	large := append([]byte("RF64\xff\xff\xff\xffWAVE"), chunk("ds64", le(uint64(0), uint64(3), uint64(3), uint32(0)))...)
	large = append(append(large, formatOf(1, 1, 1000, 8)...), append([]byte("data\xff\xff\xff\xff"), samples...)...)
	if r, err := ReadWAV("x", bytes.NewReader(large), Options{}); err != nil || len(r.Channels[0].Samples) != 3 || len(r.Warnings) != 0 {
		t.Errorf("RF64: %+v, %v", r, err)
	}
	whole := riff(formatOf(1, 2, 1000, 16), chunk("data", make([]byte, 40)))
	r, err := ReadWAV("x", bytes.NewReader(whole[:len(whole)-6]), Options{})
	if err != nil || len(r.Channels[1].Samples) != 8 || !strings.Contains(strings.Join(r.Warnings, "\n"), "cut off: 34 of 40") || !strings.Contains(strings.Join(r.Warnings, "\n"), "last 2 bytes") {
		t.Errorf("cut off: %+v, %v", r, err)
	}
}

func TestMeanAndExtremesTellWhatARecordingIsWorth(t *testing.T) {
	wave := func(mean, amplitude float64) []byte {
		var data []byte
		for i := range 1000 {
			data = append(data, le(mean+amplitude*math.Sin(2*math.Pi*float64(i)/100))...)
		}
		return riff(formatOf(3, 1, 10000, 64), chunk("data", data))
	}
	for _, c := range []struct {
		mean, amplitude float64
		warning         string
	}{{0.5, 0.25, ""}, {0, 0.5, "AC-coupled"}, {0.5, 0, "constant"}, {0.75, 0.5, "samples at full scale"}} {
		r, err := ReadWAV("x", bytes.NewReader(wave(c.mean, c.amplitude)), Options{})
		if err != nil {
			t.Fatal(err)
		}
		ch := r.Channels[0]
		// Rounding of a running mean over 1000 samples.
		if math.Abs(ch.Mean-c.mean) > 1e-13 || math.Abs(ch.Max-c.mean-c.amplitude) > 1e-15 || math.Abs(ch.Min-c.mean+c.amplitude) > 1e-15 {
			t.Errorf("%g ± %g: mean %g, %g to %g", c.mean, c.amplitude, ch.Mean, ch.Min, ch.Max)
		}
		if got := strings.Join(r.Warnings, "\n"); (got == "") != (c.warning == "") || !strings.Contains(got, c.warning) {
			t.Errorf("%g ± %g: warnings %q; want %q", c.mean, c.amplitude, got, c.warning)
		}
	}
}

func TestBadSoundFilesAreOneSentence(t *testing.T) {
	data := chunk("data", make([]byte, 16))
	for _, c := range []struct {
		name string
		raw  []byte
		o    Options
		want string
	}{
		{"empty", nil, Options{}, "x.wav: found no WAVE file; it begins with RIFF and WAVE"},
		{"text", []byte("time,volts\n0,1\n"), Options{}, "x.wav: found no WAVE file; it begins with RIFF and WAVE"},
		{"FLAC", []byte("fLaC\x00"), Options{}, "x.wav: found a FLAC file; save it as WAV: nothing is lost by it"},
		{"Ogg", []byte("OggS\x00"), Options{}, "x.wav: found an Ogg file; record WAV: lossy formats change amplitudes"},
		{"MP3 inside", riff(formatOf(0x55, 1, 1000, 16), data), Options{}, "x.wav: found a WAVE file with MP3 inside; record plain PCM: lossy formats change amplitudes"},
		{"an unknown format", riff(formatOf(0x999, 1, 1000, 16), data), Options{}, "x.wav: found a WAVE file of format 2457; save it as plain PCM"},
		{"no format", riff(data), Options{}, "x.wav: found samples before their format; the file is damaged: save it again"},
		{"half a format", riff(chunk("fmt ", make([]byte, 8)), data), Options{}, "x.wav: found a format of 8 bytes; it has 16 at least: the file is damaged"},
		{"no samples", riff(formatOf(1, 1, 1000, 16)), Options{}, "x.wav: found a WAVE file without samples; it is cut off: record it again"},
		{"nothing in the samples", riff(formatOf(1, 1, 1000, 16), chunk("data", nil)), Options{}, "x.wav: found a WAVE file without samples; it is cut off: record it again"},
		{"no rate", riff(formatOf(1, 1, 0, 16), data), Options{}, "x.wav: found a sampling rate of 0; the file is damaged: record it again"},
		{"no channel", riff(formatOf(1, 0, 1000, 16), data), Options{}, "x.wav: found 0 channels in frames of 0 bytes; the file is damaged: record it again"},
		{"floats of 16 bits", riff(formatOf(3, 1, 1000, 16), data), Options{}, "x.wav: found samples of 16 bits in 2 bytes; save it as PCM of 8, 16, 24 or 32 bits, or as floating point of 32 or 64"},
		{"integers of 64 bits", riff(formatOf(1, 1, 1000, 64), data), Options{}, "x.wav: found samples of 64 bits in 8 bytes; save it as PCM of 8, 16, 24 or 32 bits, or as floating point of 32 or 64"},
		{"no number", riff(formatOf(3, 1, 1000, 64), chunk("data", le(0.5, math.NaN()))), Options{}, "x.wav: found NaN at 0.001 s in channel 1; a sample is a number: record it again"},
		{"too many samples", riff(formatOf(1, 1, 1000, 8), data), Options{MaxSamples: 15}, "x.wav: found more than 15 samples; cut the recording into shorter ones"},
		{"too large", riff(formatOf(1, 1, 1000, 8), data), Options{MaxBytes: 20}, "x.wav: found more than 0 MB; one measurement is smaller: check that this is the right file"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := ReadWAV("folder/x.wav", bytes.NewReader(c.raw), c.o)
			var p *ingest.Problem
			if !errors.As(err, &p) || err.Error() != c.want {
				t.Errorf("got  %v\nwant %s", err, c.want)
			}
		})
	}
}

func TestIntegersComeBackAtEveryDepth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		bits := rapid.SampledFrom([]uint16{16, 24, 32}).Draw(t, "bits")
		channels := rapid.IntRange(1, 4).Draw(t, "channels")
		limit := int64(1)<<(bits-1) - 1
		codes := rapid.SliceOfN(rapid.Int64Range(-limit-1, limit), channels, 40*channels).Draw(t, "codes")
		codes = codes[:len(codes)/channels*channels]
		var data []byte
		for _, c := range codes {
			data = append(data, le(c)[:bits/8]...)
		}
		r, err := ReadWAV("x", bytes.NewReader(riff(formatOf(1, uint16(channels), 44100, bits), chunk("data", data))), Options{})
		if err != nil {
			t.Fatal(err)
		}
		for i, c := range codes {
			if got := r.Channels[i%channels].Samples[i/channels] * float64(limit+1); got != float64(c) {
				t.Fatalf("sample %d: %g; want %d", i, got, c)
			}
		}
	})
}

// check requires a sound recording or one clear sentence.
func check(t *testing.T, r *Recording, err error) {
	t.Helper()
	if err != nil {
		var p *ingest.Problem
		if !errors.As(err, &p) {
			t.Fatal(err)
		}
		if s := p.Error(); p.Found == "" || p.Want == "" || strings.ContainsAny(s, "\r\n\x00") || !utf8.ValidString(s) || len(s) > 600 {
			t.Fatalf("no clear sentence: %q", s)
		}
		return
	}
	if !(r.Step > 0) || len(r.Channels) == 0 {
		t.Fatalf("%d channels by %g s", len(r.Channels), r.Step)
	}
	for _, c := range r.Channels {
		if len(c.Samples) != len(r.Channels[0].Samples) || !(c.Min <= c.Mean+1e-9*math.Abs(c.Mean)) || !(c.Mean-1e-9*math.Abs(c.Mean) <= c.Max) {
			t.Fatalf("%d samples from %g over %g to %g", len(c.Samples), c.Min, c.Mean, c.Max)
		}
	}
	if _, err := json.Marshal(r); err != nil {
		t.Fatal(err)
	}
}

func FuzzReadWAV(f *testing.F) {
	f.Add(riff(formatOf(1, 2, 1000, 16), chunk("data", le(int16(1), int16(2), int16(3), int16(4)))))
	f.Add(riff(extensible(1, 24, 20, 1), chunk("data", []byte{0, 0, 0x40, 0xF0, 0xFF, 0x7F})))
	f.Add(riff(formatOf(3, 1, 1000, 64), chunk("data", le(0.5, 1e308))))
	f.Add(append([]byte("RF64\xff\xff\xff\xffWAVE"), chunk("ds64", make([]byte, 28))...))
	f.Add([]byte("RIFF\x00\x00\x00\x00WAVEdata\xff\xff\xff\xff"))
	f.Fuzz(func(t *testing.T, raw []byte) {
		r, err := ReadWAV("x", bytes.NewReader(raw), Options{MaxSamples: 1 << 20})
		check(t, r, err)
	})
}
