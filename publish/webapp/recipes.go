package webapp

import (
	"bytes"
	"context"
	"fmt"
	"net/http"
	"net/url"
	"path"
	"strconv"
	"strings"

	"lampassay/bench/ingest"
	"lampassay/bench/notebook"
)

// recipeEnding marks the recipes among a sitting's files.
const recipeEnding = ".recipe.json"

// answersOf writes what a recipe fixes as the answers of an address.
func answersOf(rec *ingest.Recipe) url.Values {
	f, out := &rec.Fixed, url.Values{}
	for name, value := range map[string]string{
		"decimal": f.Decimal, "separator": f.Separator, "wavelength_unit": f.WavelengthUnit, "quantity": f.Quantity,
		"projection": f.Projection, "sheet": f.Sheet, "path": f.Path,
	} {
		if value != "" {
			out.Set(name, value)
		}
	}
	if f.Column > 0 {
		out.Set("column", strconv.Itoa(f.Column))
	}
	if f.Photon {
		out.Set("photon", "1")
	}
	return out
}

// recipeBrought reads the recipe that came with a file, or was chosen among
// earlier ones, and keeps it; nil where there is none or it cannot be read, which is
// then noted in the form.
func (s *Server) recipeBrought(form *form) (*ingest.Recipe, notebook.Sum, error) {
	r := form.r
	f, head, err := r.FormFile("recipe")
	if err == nil && head.Size > 0 {
		defer f.Close()
		rec, err := ingest.LoadRecipe(f)
		if err != nil {
			form.wrong("recipe", "%s cannot be taken: %s", labelOf(head.Filename), sentence(err.Error()))
			return nil, "", nil
		}
		var b bytes.Buffer
		if err := rec.Save(&b); err != nil {
			return nil, "", err
		}
		kept, err := s.nb.Keep(r.Context(), labelOf(head.Filename), "application/json", &b)
		return rec, kept.SHA256, err
	}
	sum := notebook.Sum(r.PostFormValue("earlier"))
	if !sum.Valid() {
		return nil, "", nil
	}
	rec, err := s.recipe(r.Context(), sum)
	return rec, sum, err
}

// recipe loads a kept recipe.
func (s *Server) recipe(ctx context.Context, sum notebook.Sum) (*ingest.Recipe, error) {
	raw, err := s.nb.File(ctx, sum)
	if err != nil {
		return nil, err
	}
	rec, err := ingest.LoadRecipe(bytes.NewReader(raw))
	if err != nil {
		return nil, bad("%s", sentence(err.Error()))
	}
	return rec, nil
}

// differs says in what a file is not as the recipe it came with says, "" where it
// is or there is none.
func (s *Server) differs(ctx context.Context, ask url.Values, name string, rep *ingest.Report) (string, error) {
	sum := notebook.Sum(ask.Get("by"))
	if !sum.Valid() {
		return "", nil
	}
	rec, err := s.recipe(ctx, sum)
	if err != nil {
		return "", err
	}
	if err := rec.Check(name, rep); err != nil {
		return sentence(err.Error()), nil
	}
	return "", nil
}

// recipesOffered is how many earlier recipes can be chosen, and sittingsSearched
// how far back they are looked for.
const recipesOffered, sittingsSearched = 12, 200

// recipes are those that files were read by, the latest first.
func (s *Server) recipes(ctx context.Context) (all []choice, err error) {
	sittings, err := s.nb.Sittings().List(ctx, notebook.Query{Descending: true, Limit: sittingsSearched})
	if err != nil {
		return nil, err
	}
	seen := map[notebook.Sum]bool{}
	for _, sit := range sittings.Items {
		for _, f := range sit.Files {
			if strings.HasSuffix(f.Name, recipeEnding) && !seen[f.SHA256] && len(all) < recipesOffered {
				seen[f.SHA256] = true
				all = append(all, choice{string(f.SHA256), fmt.Sprintf("%s, of %s", strings.TrimSuffix(f.Name, recipeEnding), sit.Started.Local().Format("2 Jan 2006"))})
			}
		}
	}
	return all, nil
}

// keepRecipe keeps how a file is read, where anybody had to say.
func (s *Server) keepRecipe(ctx context.Context, name string, raw []byte, ask url.Values) ([]notebook.Attachment, error) {
	if len(settledBy(ask)) == 0 {
		return nil, nil
	}
	body, err := recipeOf(name, raw, ask)
	if err != nil {
		return nil, err
	}
	kept, err := s.nb.Keep(ctx, stemOf(name)+recipeEnding, "application/json", bytes.NewReader(body))
	return []notebook.Attachment{kept}, err
}

// recipeOf writes how a file is read, for the next of its shape.
func recipeOf(name string, raw []byte, ask url.Values) ([]byte, error) {
	o, err := settled(ask)
	if err != nil {
		return nil, err
	}
	seen, err := ingest.Look(name, bytes.NewReader(raw), o)
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	err = ingest.NewRecipe("files like "+stemOf(name), &seen.Report, &o).Save(&b)
	return b.Bytes(), err
}

func stemOf(name string) string { return strings.TrimSuffix(name, path.Ext(name)) }

// importRecipe hands out how the file is read.
func (s *Server) importRecipe(w http.ResponseWriter, r *http.Request) error {
	raw, _, err := s.uploaded(r)
	if err != nil {
		return err
	}
	name := labelOf(r.URL.Query().Get("name"))
	body, err := recipeOf(name, raw, r.URL.Query())
	if err != nil {
		return err
	}
	return deliver(w, fileName(stemOf(name))+recipeEnding, "application/json", body)
}
