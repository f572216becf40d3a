package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"io"
	"mime"

	"lampassay/bench/notebook"
)

// Keep stores a file and returns what to attach.
func (s *Store) Keep(ctx context.Context, name, media string, r io.Reader) (notebook.Attachment, error) {
	if _, _, err := mime.ParseMediaType(media); err != nil {
		return notebook.Attachment{}, notebook.Errorf(notebook.Invalid, "%s is of the type %q, which is none: image/jpeg is one", name, media)
	}
	b, err := io.ReadAll(io.LimitReader(r, notebook.MostFileBytes+1))
	if err != nil {
		return notebook.Attachment{}, err
	}
	if len(b) > notebook.MostFileBytes {
		return notebook.Attachment{}, notebook.Errorf(notebook.Invalid, "%s is larger than the %d MiB that are kept of a file", name, notebook.MostFileBytes>>20)
	}
	a := notebook.Attachment{Name: name, Media: media, Size: int64(len(b)), SHA256: notebook.SumOf(b)}
	return a, s.write(ctx, func(tx *sql.Tx) error { return keep(ctx, tx, a.SHA256, media, b) })
}

func keep(ctx context.Context, tx *sql.Tx, sum notebook.Sum, media string, b []byte) error {
	if b == nil {
		b = []byte{} // nil would be NULL
	}
	_, err := tx.ExecContext(ctx, "INSERT INTO file (sha256, media, bytes) VALUES (?, ?, ?) ON CONFLICT DO NOTHING", sum, media, b)
	return err
}

// File returns the bytes kept under a sum, after checking them.
func (s *Store) File(ctx context.Context, sum notebook.Sum) ([]byte, error) {
	var b []byte
	err := s.reader.QueryRowContext(ctx, "SELECT bytes FROM file WHERE sha256 = ?", sum).Scan(&b)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, notebook.Errorf(notebook.NotFound, "there is no file with the checksum %s", sum)
	}
	if err != nil {
		return nil, s.fail(err)
	}
	if notebook.SumOf(b) != sum {
		return nil, notebook.Errorf(notebook.Damaged, "the file %s does not have its checksum any more: go back to a backup", sum)
	}
	return b, nil
}
