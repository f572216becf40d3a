package notebook

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"math"
	"regexp"
	"time"
	"unicode/utf8"
)

// Reading is what one channel of the bench said at one moment.
type Reading struct {
	N  int64 // its number in the sitting, from 1; the notebook sets it
	At time.Time
	// Channel is the input it came by, such as "spectrometer", "mains", "lux".
	Channel    string
	Instrument ID // 0 where none is recorded
	Values     []Value
	Curve      *Curve   // a spectrum or a waveform
	Flags      []string // such as "over range", "clock jumped back"
	Note       string   // a mark of the person at the bench
	Raw        string   // the line as the instrument sent it
	// Chain is the sum over this reading and all before it; the notebook sets it.
	Chain Sum
}

// Value is one number of a reading. V is nil where the instrument gave none, and
// Flag then says what it showed instead.
type Value struct {
	Key  string   `json:"key"` // such as power, voltage, illuminance, temperature
	V    *float64 `json:"v"`
	Unit string   `json:"unit,omitempty"`
	Flag string   `json:"flag,omitempty"`
}

// Curve is a row of samples, kept to the last bit. With an Axis it is a spectrum,
// with a RateHz a waveform. A sample that is missing is NaN.
type Curve struct {
	Quantity   string    // what the samples are: a name of spectrum.Quantity, or a unit
	Axis       []float64 // nm
	RateHz     float64
	ExposureMs float64 // 0 unknown
	Averages   int     // frames in the mean; 0 unknown
	Samples    []float64
}

// What a reading holds at most.
const (
	MostSamples   = 4 << 20   // of a curve: over a minute at the rate of a sound card
	MostTextBytes = 256 << 10 // of all its notes, flags, names and lines of an instrument
	MostValues    = 1 << 10   // numbers and flags
)

// channelForm keeps channels fit for file names, columns and lists.
var channelForm = regexp.MustCompile(`^[\pL\pN][\pL\pN ._-]{0,63}$`)

// Check says what keeps a reading from being kept.
func (r *Reading) Check() error {
	bad := func(format string, args ...any) error {
		return Errorf(Invalid, "the reading of %q: %s", r.Channel, fmt.Sprintf(format, args...))
	}
	switch {
	case !channelForm.MatchString(r.Channel):
		return Errorf(Invalid, "a reading comes by a channel with a name of up to 64 letters and digits, not %q", r.Channel)
	case r.At.Year() < 1970 || r.At.Year() > 9999:
		return bad("%s is no time it can have been made", r.At.Format(time.RFC3339))
	case r.Instrument < 0:
		return bad("there is no instrument %d", r.Instrument)
	}
	if len(r.Values) > MostValues || len(r.Flags) > MostValues {
		return bad("more than %d values or flags", MostValues)
	}
	texts := append([]string{r.Note, r.Raw}, r.Flags...)
	for _, v := range r.Values {
		if v.Key == "" {
			return bad("a value has no name")
		}
		if v.V != nil && (math.IsNaN(*v.V) || math.IsInf(*v.V, 0)) {
			return bad("%s is %g: leave the number out and flag it", v.Key, *v.V)
		}
		texts = append(texts, v.Key, v.Unit, v.Flag)
	}
	for _, f := range r.Flags {
		if f == "" {
			return bad("a flag is empty")
		}
	}
	c := r.Curve
	if c == nil {
		c = &Curve{}
	} else {
		switch {
		case len(c.Samples) == 0 || len(c.Samples) > MostSamples:
			return bad("a curve has 1 to %d samples, not %d", MostSamples, len(c.Samples))
		case (c.Axis != nil) == (c.RateHz != 0):
			return bad("a curve has either wavelengths or a sample rate")
		case c.Axis != nil && len(c.Axis) != len(c.Samples):
			return bad("%d wavelengths but %d samples", len(c.Axis), len(c.Samples))
		case !(c.RateHz >= 0 && c.RateHz < math.Inf(1)), !(c.ExposureMs >= 0 && c.ExposureMs < math.Inf(1)), c.Averages < 0:
			return bad("rate, exposure and averages are from 0 up")
		}
		for i, l := range c.Axis {
			if !(l > 0 && l < math.Inf(1)) || i > 0 && l <= c.Axis[i-1] {
				return bad("wavelength %d is %g nm: they are positive and increase", i+1, l)
			}
		}
		for i, v := range c.Samples {
			if math.IsInf(v, 0) {
				return bad("sample %d is infinite: a missing one is NaN", i+1)
			}
		}
	}
	length := 0
	for _, s := range append(texts, c.Quantity) {
		if length += len(s); length > MostTextBytes {
			return bad("its texts are longer than the %d bytes that are kept", MostTextBytes)
		}
		if !utf8.ValidString(s) {
			return bad("%q is not UTF-8: quote what an instrument sent", s)
		}
	}
	return nil
}

// body is a reading as it is kept beside its samples. The order of the fields
// is part of the format: the sums are over these bytes.
type body struct {
	At         int64    `json:"at"` // µs since 1970, UTC
	Channel    string   `json:"channel"`
	Instrument ID       `json:"instrument,omitempty"`
	Values     []Value  `json:"values,omitempty"`
	Flags      []string `json:"flags,omitempty"`
	Note       string   `json:"note,omitempty"`
	Raw        string   `json:"raw,omitempty"`
	Quantity   string   `json:"quantity,omitempty"`
	RateHz     float64  `json:"rate_hz,omitempty"`
	ExposureMs float64  `json:"exposure_ms,omitempty"`
	Averages   int      `json:"averages,omitempty"`
	Samples    int      `json:"samples,omitempty"`
}

// Encode returns what is kept of a reading beside its wavelengths and samples: a
// line of JSON.
func (r *Reading) Encode() ([]byte, error) {
	b := body{At: r.At.UnixMicro(), Channel: r.Channel, Instrument: r.Instrument, Values: r.Values, Flags: r.Flags, Note: r.Note, Raw: r.Raw}
	if c := r.Curve; c != nil {
		b.Quantity, b.RateHz, b.ExposureMs, b.Averages, b.Samples = c.Quantity, c.RateHz, c.ExposureMs, c.Averages, len(c.Samples)
	}
	return json.Marshal(&b)
}

// Decode is the inverse of [Reading.Encode]. A curve comes without wavelengths
// and samples; their number is returned.
func (r *Reading) Decode(line []byte) (samples int, err error) {
	var b body
	if err := json.Unmarshal(line, &b); err != nil {
		return 0, Errorf(Damaged, "a reading is no JSON: %w", err)
	}
	*r = Reading{N: r.N, At: time.UnixMicro(b.At).UTC(), Channel: b.Channel, Instrument: b.Instrument, Values: b.Values, Flags: b.Flags, Note: b.Note, Raw: b.Raw, Chain: r.Chain}
	if b.Samples > 0 {
		r.Curve = &Curve{Quantity: b.Quantity, RateHz: b.RateHz, ExposureMs: b.ExposureMs, Averages: b.Averages}
	}
	return b.Samples, nil
}

// Link returns the sum over reading n and all before it: SHA-256 of the sum
// before (32 bytes, none for the first), the line of [Reading.Encode], a line
// feed, and the wavelengths and then the samples as [Bytes] has them.
func Link(before [32]byte, n int64, line, nm, samples []byte) [32]byte {
	h := sha256.New()
	if n > 1 {
		h.Write(before[:])
	}
	h.Write(line)
	h.Write([]byte{'\n'})
	h.Write(nm)
	h.Write(samples)
	return [32]byte(h.Sum(nil))
}

// Bytes appends numbers as IEEE 754 doubles, least significant byte first. Every
// NaN is written as the same one.
func Bytes(to []byte, v []float64) []byte {
	for _, x := range v {
		bits := math.Float64bits(x)
		if x != x {
			bits = 0x7ff8000000000001
		}
		to = binary.LittleEndian.AppendUint64(to, bits)
	}
	return to
}

// Floats is the inverse of [Bytes].
func Floats(b []byte) []float64 {
	v := make([]float64, len(b)/8)
	for i := range v {
		v[i] = math.Float64frombits(binary.LittleEndian.Uint64(b[8*i:]))
	}
	return v
}

// SumOf returns the SHA-256 of bytes.
func SumOf(b []byte) Sum { return HexOf(sha256.Sum256(b)) }

// HexOf writes a sum in hexadecimals.
func HexOf(sum [32]byte) Sum { return Sum(hex.EncodeToString(sum[:])) }
