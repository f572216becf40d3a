package sqlite

import (
	"encoding/binary"
	"math"
	"strconv"
	"sync"

	"github.com/klauspost/compress/zstd"

	"lampassay/bench/notebook"
)

// Samples are kept to the last bit in one of two forms, of which the first byte
// tells:
//
//	0…9   decimal: every sample is a whole number divided by that power of ten,
//	      as counts are, and what a program printed with so many decimals. Kept
//	      are the whole numbers, each as the difference from the one before.
//	255   binary: each sample's 64 bits, xor those of the one before.
//
// The 64-bit words so made are written byte plane by byte plane, the most
// significant first, and compressed by Zstandard (RFC 8878): neighbours in a
// plane are alike, and planes that no sample reaches are runs of zeros.
const (
	mostDecimals = 9
	binaryForm   = 255
)

// codec holds what is slow to make. Encoder and decoder may be used from many
// goroutines through EncodeAll and DecodeAll.
var codec = sync.OnceValue(func() (c struct {
	enc *zstd.Encoder
	dec *zstd.Decoder
}) {
	var err error
	if c.enc, err = zstd.NewWriter(nil, zstd.WithEncoderLevel(zstd.SpeedDefault), zstd.WithSingleSegment(true)); err != nil {
		panic("sqlite: " + err.Error()) // the options are constants
	}
	if c.dec, err = zstd.NewReader(nil, zstd.WithDecoderConcurrency(0), zstd.WithDecoderMaxMemory(8*notebook.MostSamples+16)); err != nil {
		panic("sqlite: " + err.Error())
	}
	return c
})

// pack compresses samples.
func pack(v []float64) []byte {
	words := make([]uint64, len(v))
	form := byte(binaryForm)
	if d, ok := decimals(v, words); ok {
		form = byte(d)
	} else {
		var last uint64
		for i, x := range v {
			bits := math.Float64bits(x)
			words[i], last = bits^last, bits
		}
	}
	return codec().enc.EncodeAll(planes(words), []byte{form})
}

// powers of ten that a double holds exactly.
var powers = [mostDecimals + 1]float64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9}

// decimals looks for the fewest decimals that give every sample back, bit by
// bit, and fills words with the differences of the whole numbers.
func decimals(v []float64, words []uint64) (int, bool) {
	for d := 0; d <= mostDecimals; d++ {
		var last int64
		i := 0
		for ; i < len(v); i++ {
			scaled := math.Round(v[i] * powers[d])
			// Beyond 2⁵³ not every whole number is a double, and −0 is none.
			if !(math.Abs(scaled) < 1<<53) || scaled == 0 && math.Signbit(scaled) || math.Float64bits(scaled/powers[d]) != math.Float64bits(v[i]) {
				break
			}
			whole := int64(scaled)
			words[i], last = zigzag(whole-last), whole
		}
		if i == len(v) {
			return d, true
		}
	}
	return 0, false
}

// zigzag turns small negative numbers into small positive ones: 0, −1, 1, −2
// become 0, 1, 2, 3.
func zigzag(d int64) uint64   { return uint64(d)<<1 ^ uint64(d>>63) }
func unzigzag(u uint64) int64 { return int64(u>>1) ^ -int64(u&1) }

// planes writes the first bytes of all words, then the second, and so on.
func planes(words []uint64) []byte {
	n := len(words)
	b := make([]byte, 8*n)
	for i, w := range words {
		for p := range 8 {
			b[p*n+i] = byte(w >> (56 - 8*p))
		}
	}
	return b
}

// unpack is the inverse of pack for n samples.
func unpack(packed []byte, n int) ([]float64, error) {
	if len(packed) == 0 {
		return nil, notebook.Errorf(notebook.Damaged, "samples are missing")
	}
	form := packed[0]
	if form > mostDecimals && form != binaryForm {
		return nil, notebook.Errorf(notebook.Newer, "samples are packed in the form %s, which this program does not know", strconv.Itoa(int(form)))
	}
	var h zstd.Header
	if err := h.Decode(packed[1:]); err != nil || !h.HasFCS || h.FrameContentSize != uint64(8*n) {
		return nil, notebook.Errorf(notebook.Damaged, "packed samples are not %d numbers", n)
	}
	b, err := codec().dec.DecodeAll(packed[1:], make([]byte, 0, 8*n))
	if err != nil {
		return nil, notebook.Errorf(notebook.Damaged, "packed samples cannot be read: %w", err)
	}
	if len(b) != 8*n {
		return nil, notebook.Errorf(notebook.Damaged, "packed samples are %d bytes where %d numbers should be", len(b), n)
	}
	v := make([]float64, n)
	var bits uint64
	var whole int64
	for i := range v {
		var word [8]byte
		for p := range word {
			word[p] = b[p*n+i]
		}
		w := binary.BigEndian.Uint64(word[:])
		if form == binaryForm {
			bits ^= w
			v[i] = math.Float64frombits(bits)
			continue
		}
		whole += unzigzag(w)
		v[i] = float64(whole) / powers[form]
	}
	return v, nil
}
