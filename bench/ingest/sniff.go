package ingest

import (
	"bytes"
	"unicode/utf8"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"
)

// sniffLength is how much of a file's beginning decides what it is.
const sniffLength = 4096

// signatures of files that people offer in place of text.
var signatures = []struct{ magic, what, want string }{
	{"PK\x03\x04", "a spreadsheet or zip archive", "export the table as text (CSV)"},
	{"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "an old office document", "export the table as text (CSV)"},
	{"\x89PNG\r\n\x1a\n", "a PNG picture", "export the numbers as text"},
	{"\xff\xd8\xff", "a JPEG picture", "export the numbers as text"},
	{"GIF8", "a GIF picture", "export the numbers as text"},
	{"II*\x00", "a TIFF picture", "export the numbers as text"},
	{"MM\x00*", "a TIFF picture", "export the numbers as text"},
	{"%PDF-", "a PDF document", "export the numbers as text"},
	{"\x1f\x8b", "gzip-compressed data", "unpack the file first"},
	{"BZh", "bzip2-compressed data", "unpack the file first"},
	{"\xfd7zXZ\x00", "xz-compressed data", "unpack the file first"},
	{"7z\xbc\xaf\x27\x1c", "a 7-Zip archive", "unpack the file first"},
	{"RIFF", "a sound or video file", "export the numbers as text"},
	{"SQLite format 3\x00", "a database", "export the numbers as text"},
}

// textEncoding is how a text file's bytes stand for characters. A nil decoder
// means that the bytes are UTF-8 already, behind a mark of so many bytes.
type textEncoding struct {
	name    string
	mark    int // bytes of byte order mark that precede the text
	decoder func() *encoding.Decoder
}

var (
	utf16LE = unicode.UTF16(unicode.LittleEndian, unicode.IgnoreBOM)
	utf16BE = unicode.UTF16(unicode.BigEndian, unicode.IgnoreBOM)
)

// sniff looks at the beginning of a file. It returns the encoding, or a Problem
// (without file name) where the file is not text.
func sniff(head []byte) (textEncoding, *Problem) {
	for _, s := range signatures {
		if bytes.HasPrefix(head, []byte(s.magic)) {
			return textEncoding{}, &Problem{Found: s.what, Want: s.want}
		}
	}
	switch {
	case bytes.HasPrefix(head, []byte("\xef\xbb\xbf")):
		return textEncoding{name: "UTF-8 with byte order mark", mark: 3}, nil
	case bytes.HasPrefix(head, []byte("\xff\xfe")):
		return textEncoding{"UTF-16LE", 2, utf16LE.NewDecoder}, nil
	case bytes.HasPrefix(head, []byte("\xfe\xff")):
		return textEncoding{"UTF-16BE", 2, utf16BE.NewDecoder}, nil
	}
	if bytes.IndexByte(head, 0) >= 0 {
		// Without a mark, UTF-16 of mostly Latin text shows by its zeros: one
		// in nearly every pair, always on the same side.
		var zeros [2]int
		for i, c := range head {
			if c == 0 {
				zeros[i&1]++
			}
		}
		pairs := len(head) / 2
		switch {
		case zeros[1]*2 >= pairs && zeros[0]*50 <= pairs:
			return textEncoding{"UTF-16LE without byte order mark", 0, utf16LE.NewDecoder}, nil
		case zeros[0]*2 >= pairs && zeros[1]*50 <= pairs:
			return textEncoding{"UTF-16BE without byte order mark", 0, utf16BE.NewDecoder}, nil
		}
		return textEncoding{}, &Problem{Found: "binary data", Want: "export the numbers as text"}
	}
	return textEncoding{name: "UTF-8"}, nil
}

// Decode returns a file's text as UTF-8 and the encoding it had, or a [*Problem]
// without file name where it is not text. What is neither UTF-16 nor valid UTF-8
// is taken as Windows-1252, in which every byte means something.
func Decode(raw []byte) ([]byte, string, *Problem) {
	enc, problem := sniff(raw[:min(len(raw), sniffLength)])
	if problem != nil {
		return nil, "", problem
	}
	raw = raw[enc.mark:]
	if enc.decoder != nil {
		text, err := enc.decoder().Bytes(raw)
		if err != nil {
			return nil, "", &Problem{Found: "text that is not valid " + enc.name, Want: "save it as UTF-8"}
		}
		return text, enc.name, nil
	}
	if utf8.Valid(raw) {
		return raw, enc.name, nil
	}
	return latin(raw), "Windows-1252", nil
}

// latin decodes Windows-1252; it cannot fail.
func latin(b []byte) []byte {
	text, err := charmap.Windows1252.NewDecoder().Bytes(b)
	if err != nil {
		return b
	}
	return text
}

// splitLines cuts text at LF, CR LF and lone CR, at most limit lines; whole
// says whether that was everything.
func splitLines(text []byte, limit int) (lines []line, whole bool) {
	for len(text) > 0 {
		if len(lines) >= limit {
			return lines, false
		}
		end, next := len(text), len(text)
		if i := bytes.IndexAny(text, "\r\n"); i >= 0 {
			end, next = i, i+1
			if bytes.HasPrefix(text[i:], []byte("\r\n")) {
				next = i + 2
			}
		}
		lines = append(lines, line{text: text[:end]})
		text = text[next:]
	}
	return lines, true
}

// line is one line of text, or its beginning.
type line struct {
	text []byte
	cut  bool // the line goes on beyond text
}
