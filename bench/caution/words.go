package caution

import (
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode"
)

// words are what is written about a lamp: in lower case, without punctuation.
type words []string

// ultravioletWord stands for a wavelength that is written and lies in the
// ultraviolet; the words of the table that begin with "uv" meet it.
const ultravioletWord = "uvnm"

// visibleFrom is where the visible begins for these purposes, nm; lamps that are
// named by a wavelength below it are for what is not seen.
const visibleFrom = 400

// wavelength finds wavelengths and the first of a range of them.
var wavelength = regexp.MustCompile(`(\d{2,4})(?:[.,]\d+)?\s*(?:(?:-|–|to|\.\.\.|…)\s*\d{2,4}(?:[.,]\d+)?\s*)?(?:nm\b|nanomet)`)

// wordsOf takes a text apart.
func wordsOf(text string) words {
	text = strings.NewReplacer("'", "", "’", "").Replace(strings.ToLower(text))
	all := words(strings.FieldsFunc(text, func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) }))
	for _, m := range wavelength.FindAllStringSubmatch(text, -1) {
		if nm, err := strconv.Atoi(m[1]); err == nil && nm < visibleFrom {
			all = append(all, "", ultravioletWord)
		}
	}
	return all
}

// texts are the words of what is written about a lamp, its technology first.
type texts []words

// tell reports whether a kind is told of: one of its phrases stands in a text, and
// beside it, or in the technology, none that makes it something else. So a germicidal
// tube whose name speaks of LEDs stays a germicidal tube.
func (all texts) tell(k *kind) bool {
	for i, text := range all {
		beside := text
		if i > 0 {
			beside = slices.Concat(text, words{""}, all[0])
		}
		if text.anyOf(k.words, beside) && !beside.anyOf(k.unless, beside) {
			return true
		}
	}
	return false
}

// anyOf reports whether one of the phrases stands in the words. Of "a + b" one has to
// stand there and the other there or beside them.
func (w words) anyOf(phrases []string, beside words) bool {
	for _, p := range phrases {
		here, all := false, true
		for part := range strings.SplitSeq(p, " + ") {
			here = here || w.phrase(part)
			all = all && beside.phrase(part)
		}
		if here && all {
			return true
		}
	}
	return false
}

// phrase reports whether a phrase stands in the words, however it is divided: "uv c"
// is also UVC and UV-C. It may be in the plural, and a figure may follow without a
// space, such as of watts. A phrase that ends in a star also begins longer words.
func (w words) phrase(p string) bool {
	p, begins := strings.CutSuffix(strings.ReplaceAll(p, " ", ""), "*")
	for i := range w {
		joined := ""
		for _, next := range w[i:] {
			if next == "" || len(joined) >= len(p) {
				break
			}
			joined += next
			rest, has := strings.CutPrefix(joined, p)
			switch {
			case !has:
			case rest == "", rest == "s", begins, len(p) > 2 && unicode.IsDigit(rune(rest[0])):
				return true
			}
		}
	}
	return false
}
