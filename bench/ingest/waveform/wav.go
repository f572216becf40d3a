package waveform

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"path/filepath"

	"lampassay/bench/ingest"
)

// Format tags of WAVE files (Microsoft Multimedia Standards Update, revision
// 3.0, 1994).
const (
	tagPCM        = 1
	tagFloat      = 3
	tagExtensible = 0xFFFE
)

// compressed names the tags that people meet besides.
var compressed = map[uint16]string{
	2: "ADPCM", 6: "A-law", 7: "µ-law", 0x11: "IMA ADPCM", 0x31: "GSM 6.10", 0x50: "MPEG audio", 0x55: "MP3", 0xFF: "AAC", 0x161: "WMA",
}

// extensibleTail is what follows the tag in an extensible file's sub-format.
const extensibleTail = "\x00\x00\x00\x00\x10\x00\x80\x00\x00\xaa\x00\x38\x9b\x71"

// strangers are other sound files, by how they begin.
var strangers = []struct{ magic, what, want string }{
	{"RIFX", "a WAVE file in the other byte order", "save it as a usual WAV"},
	{"fLaC", "a FLAC file", "save it as WAV: nothing is lost by it"},
	{"FORM", "an AIFF file", "save it as WAV: nothing is lost by it"},
	{"OggS", "an Ogg file", "record WAV: lossy formats change amplitudes"},
	{"ID3", "an MP3 file", "record WAV: lossy formats change amplitudes"},
	{"\xff\xfb", "an MP3 file", "record WAV: lossy formats change amplitudes"},
}

// layout is how a WAVE file stores its samples.
type layout struct {
	tag      uint16
	channels int
	rate     uint32
	bytes    int // of a sample
	bits     int // of them that count, the upper ones
}

// ReadWAV reads a WAVE file: RIFF, or RF64 for the larger ones. Integers become
// shares of full scale, −1 to 1; floating-point samples stay as they are. name is
// for sentences. The error is an [*ingest.Problem] where the file is at fault,
// and r's own otherwise.
func ReadWAV(name string, r io.Reader, o Options) (*Recording, error) {
	raw, sum, err := ingest.ReadWhole(name, r, o.maxBytes())
	if err != nil {
		return nil, err
	}
	rec := &Recording{Name: name, SHA256: sum}
	if p := rec.wav(raw, &o); p != nil {
		p.File = filepath.Base(name)
		return nil, p
	}
	return rec, nil
}

// wav walks through the chunks.
func (r *Recording) wav(raw []byte, o *Options) *ingest.Problem {
	for _, s := range strangers {
		if bytes.HasPrefix(raw, []byte(s.magic)) {
			return &ingest.Problem{Found: s.what, Want: s.want}
		}
	}
	large := bytes.HasPrefix(raw, []byte("RF64"))
	if len(raw) < 12 || !large && !bytes.HasPrefix(raw, []byte("RIFF")) || string(raw[8:12]) != "WAVE" {
		return &ingest.Problem{Found: "no WAVE file", Want: "it begins with RIFF and WAVE"}
	}
	var l *layout
	var real uint64 // size of the data in an RF64 file
	for rest := raw[12:]; len(rest) >= 8; {
		id, size := string(rest[:4]), uint64(binary.LittleEndian.Uint32(rest[4:]))
		body := rest[8:]
		if id == "data" {
			if l == nil {
				return &ingest.Problem{Found: "samples before their format", Want: "the file is damaged: save it again"}
			}
			if large && size == math.MaxUint32 {
				size = real
			}
			return r.samples(r.data(body, size), l, o)
		}
		chunk := body[:min(size, uint64(len(body)))]
		switch {
		case id == "ds64" && len(chunk) >= 16:
			real = binary.LittleEndian.Uint64(chunk[8:])
		case id == "fmt ":
			var problem *ingest.Problem
			if l, problem = format(chunk); problem != nil {
				return problem
			}
		}
		// A chunk of odd length is followed by a byte that does not count.
		rest = body[min(size+size&1, uint64(len(body))):]
	}
	return &ingest.Problem{Found: "a WAVE file without samples", Want: "it is cut off: record it again"}
}

// data returns the bytes of the samples. A recorder that could not go back
// leaves 0 or the largest size: then they go on to the end.
func (r *Recording) data(body []byte, size uint64) []byte {
	switch {
	case size == 0 || size == math.MaxUint32 || size == math.MaxUint64:
		if len(body) > 0 {
			r.warn("the recorder left no length: everything to the end of the file is read as samples")
		}
		return body
	case size > uint64(len(body)):
		r.warn("the file is cut off: %d of %d bytes of samples are there", len(body), size)
		return body
	}
	return body[:size]
}

// format reads the chunk that says how samples are stored.
func format(b []byte) (*layout, *ingest.Problem) {
	if len(b) < 16 {
		return nil, &ingest.Problem{Found: fmt.Sprintf("a format of %d bytes", len(b)), Want: "it has 16 at least: the file is damaged"}
	}
	l := layout{
		tag: binary.LittleEndian.Uint16(b), channels: int(binary.LittleEndian.Uint16(b[2:])), rate: binary.LittleEndian.Uint32(b[4:]),
		bits: int(binary.LittleEndian.Uint16(b[14:])),
	}
	frame := int(binary.LittleEndian.Uint16(b[12:]))
	if l.tag == tagExtensible {
		if len(b) < 40 || string(b[26:40]) != extensibleTail {
			return nil, &ingest.Problem{Found: "an extensible WAVE format of an unknown kind", Want: "save it as plain PCM"}
		}
		l.tag = binary.LittleEndian.Uint16(b[24:])
		if valid := int(binary.LittleEndian.Uint16(b[18:])); valid > 0 && valid < l.bits {
			l.bits = valid
		}
	}
	switch name, known := compressed[l.tag]; {
	case known:
		return nil, &ingest.Problem{Found: "a WAVE file with " + name + " inside", Want: "record plain PCM: lossy formats change amplitudes"}
	case l.tag != tagPCM && l.tag != tagFloat:
		return nil, &ingest.Problem{Found: fmt.Sprintf("a WAVE file of format %d", l.tag), Want: "save it as plain PCM"}
	case l.rate == 0:
		return nil, &ingest.Problem{Found: "a sampling rate of 0", Want: "the file is damaged: record it again"}
	case l.channels == 0 || frame == 0 || frame%l.channels != 0:
		return nil, &ingest.Problem{Found: fmt.Sprintf("%d channels in frames of %d bytes", l.channels, frame), Want: "the file is damaged: record it again"}
	}
	l.bytes = frame / l.channels
	switch {
	case l.tag == tagFloat && (l.bytes == 4 || l.bytes == 8) && l.bits == 8*l.bytes:
	case l.tag == tagPCM && l.bytes <= 4 && l.bits > 8*(l.bytes-1) && l.bits <= 8*l.bytes:
	default:
		return nil, &ingest.Problem{Found: fmt.Sprintf("samples of %d bits in %d bytes", l.bits, l.bytes), Want: "save it as PCM of 8, 16, 24 or 32 bits, or as floating point of 32 or 64"}
	}
	return &l, nil
}

// samples parts the channels, which are interleaved.
func (r *Recording) samples(data []byte, l *layout, o *Options) *ingest.Problem {
	frame := l.bytes * l.channels
	n := len(data) / frame
	switch {
	case n == 0:
		return &ingest.Problem{Found: "a WAVE file without samples", Want: "it is cut off: record it again"}
	case n > o.maxSamples()/l.channels:
		return &ingest.Problem{Found: fmt.Sprintf("more than %d samples", o.maxSamples()), Want: "cut the recording into shorter ones"}
	case len(data)%frame != 0:
		r.warn("the last %d bytes are no whole sample of every channel and left out", len(data)%frame)
	}
	r.Format = fmt.Sprintf("WAV, %d-bit integers", l.bits)
	if l.tag == tagFloat {
		r.Format = fmt.Sprintf("WAV, %d-bit floating point", l.bits)
	}
	r.Step = 1 / float64(l.rate)
	for c := range l.channels {
		channel := Channel{Name: fmt.Sprint(c + 1), Unit: "1", Samples: make([]float64, n)}
		for i := range n {
			v, full := l.sample(data[i*frame+c*l.bytes:])
			if math.IsNaN(v) || math.IsInf(v, 0) {
				return &ingest.Problem{Found: fmt.Sprintf("%v at %g s in channel %d", v, float64(i)*r.Step, c+1), Want: "a sample is a number: record it again"}
			}
			if channel.Samples[i] = v; full {
				channel.Clipped++
			}
		}
		r.Channels = append(r.Channels, channel)
	}
	r.describe()
	return nil
}

// sample decodes one sample and reports whether it is at full scale.
func (l *layout) sample(b []byte) (v float64, full bool) {
	switch {
	case l.tag == tagFloat && l.bytes == 4:
		v = float64(math.Float32frombits(binary.LittleEndian.Uint32(b)))
		return v, math.Abs(v) >= 1
	case l.tag == tagFloat:
		v = math.Float64frombits(binary.LittleEndian.Uint64(b))
		return v, math.Abs(v) >= 1
	}
	var code int32 // in the upper bytes
	switch l.bytes {
	case 1: // the only size without a sign
		code = int32(b[0]^0x80) << 24
	case 2:
		code = int32(binary.LittleEndian.Uint16(b)) << 16
	case 3:
		code = int32(b[0])<<8 | int32(b[1])<<16 | int32(b[2])<<24
	case 4:
		code = int32(binary.LittleEndian.Uint32(b))
	}
	top := int32(math.MaxInt32) >> (32 - l.bits) << (32 - l.bits)
	return float64(code) / (1 << 31), code >= top || code == math.MinInt32
}
