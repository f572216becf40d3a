package cli

import (
	"bytes"
	"encoding/gob"
	"io"
	"os"
	"path/filepath"

	"lampassay/light/limits"
)

// limitCache keeps answers of package limits as files in the user's cache
// folder. It is a convenience: what cannot be read or written is computed anew,
// without a word.
type limitCache struct{ folder string }

// openLimitCache returns nil where there is no cache folder.
func openLimitCache() limits.Cache {
	base, err := os.UserCacheDir()
	if err != nil {
		return nil
	}
	return limitCache{filepath.Join(base, "lampassay", "limits")}
}

func (c limitCache) file(key string) string { return filepath.Join(c.folder, key+".gob") }

// Load reads an answer; one that is damaged counts as none.
func (c limitCache) Load(key string) (a limits.Answer, ok bool) {
	raw, err := os.ReadFile(c.file(key))
	if err != nil {
		return a, false
	}
	return a, gob.NewDecoder(bytes.NewReader(raw)).Decode(&a) == nil
}

// Save writes an answer whole or not at all.
func (c limitCache) Save(key string, a limits.Answer) {
	if os.MkdirAll(c.folder, 0o755) == nil {
		_ = createFile(c.file(key), func(w io.Writer) error { return gob.NewEncoder(w).Encode(a) })
	}
}
