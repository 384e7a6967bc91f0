package server

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"io"
	"mime"
	"net/http"
	"reflect"

	"drawbar/controller"
	"drawbar/internal/agronomy"
	"drawbar/internal/catalog"

	"github.com/danielgtaylor/huma/v2"
)

// The kinds of text that a catalogue is sent in.
const (
	yamlText = "application/yaml"
	jsonText = "application/json"
)

// catalogTextAPI is the catalogue as one text.
func (s *Server) catalogTextAPI(a *api) {
	text := &huma.MediaType{Schema: &huma.Schema{Type: huma.TypeString, Description: "The whole catalogue: drawbar.catalog.1."}}
	both := map[string]*huma.MediaType{yamlText: text, jsonText: {Schema: &huma.Schema{Type: huma.TypeObject}}}
	a.plain(endpoint{
		method: "GET", path: "/api/catalog/export", id: "exportCatalog", summary: "The whole catalogue", text: "As one text, which import takes. The same catalogue gives the same bytes.",
		done: "The catalogue.", fails: map[int]string{http.StatusServiceUnavailable: noCatalogDoc, http.StatusUnprocessableEntity: "There is no such format."},
	}, "", both, s.exportCatalog, &huma.Param{
		Name: "format", In: "query", Description: "yaml where it is left out.", Schema: &huma.Schema{Type: huma.TypeString, Enum: []any{"yaml", "json"}},
	})
	e := endpoint{
		method: "POST", path: "/api/catalog/import", id: "importCatalog", most: catalog.MaxBytes, summary: "Take in a catalogue",
		text: "All of it, or with any fault nothing. Without replace items are added, and those that are there already may be in the text as they are.",
		done: "What was done.", fails: map[int]string{http.StatusServiceUnavailable: noCatalogDoc},
	}
	a.plain(e, "", content(a.schemaOf(reflect.TypeFor[importedJSON]())), s.importCatalog, &huma.Param{
		Name: "replace", In: "query", Description: "The catalogue becomes what the text says: other items are removed.", Schema: &huma.Schema{Type: huma.TypeBoolean},
	})
	a.huma.OpenAPI().Paths[e.path].Post.RequestBody = &huma.RequestBody{Required: true, Content: both}
}

func (s *Server) exportCatalog(w http.ResponseWriter, r *http.Request) {
	format, kind := catalog.YAML, yamlText
	name := r.URL.Query().Get("format")
	switch name {
	case "", "yaml":
		name = "yaml"
	case "json":
		format, kind = catalog.JSON, jsonText
	default:
		s.fail(w, refuse(http.StatusUnprocessableEntity, "there is no format %s: ask for yaml or json", clip(name)))
		return
	}
	if s.c.Catalog == nil {
		s.failWith(w, r, noCatalog())
		return
	}
	d, err := s.c.Catalog.Export(r.Context())
	var b bytes.Buffer
	if err == nil {
		err = catalog.Encode(&b, d, format)
	}
	if err != nil {
		s.failWith(w, r, ofCatalog("", err))
		return
	}
	w.Header().Set("Content-Type", kind)
	w.Header().Set("Content-Disposition", `attachment; filename="farm.`+name+`"`)
	_, _ = w.Write(b.Bytes()) // the client is gone: nobody to tell
}

func (s *Server) importCatalog(w http.ResponseWriter, r *http.Request) {
	// As everywhere, what a page of another origin can send without asking is refused.
	if kind, _, err := mime.ParseMediaType(r.Header.Get("Content-Type")); err != nil || kind != yamlText && kind != jsonText {
		s.fail(w, refuse(http.StatusUnsupportedMediaType, "what is sent here is a catalogue: send it with Content-Type: %s or %s", yamlText, jsonText))
		return
	}
	replace := false
	switch v := r.URL.Query().Get("replace"); v {
	case "", "0", "false":
	case "1", "true":
		replace = true
	default:
		s.fail(w, refuse(http.StatusUnprocessableEntity, "replace is %s: want 1 or 0", clip(v)))
		return
	}
	if s.c.Catalog == nil {
		s.failWith(w, r, noCatalog())
		return
	}
	text, err := io.ReadAll(http.MaxBytesReader(w, r.Body, catalog.MaxBytes))
	var long *http.MaxBytesError
	switch {
	case errors.As(err, &long):
		s.fail(w, refuse(http.StatusRequestEntityTooLarge, "nothing was done: a catalogue has at most %d bytes", int64(catalog.MaxBytes)))
		return
	case err != nil:
		s.fail(w, refuse(http.StatusRequestTimeout, "nothing was done: what was sent did not arrive; send it again"))
		return
	}
	n, err := s.c.Catalog.Import(r.Context(), "catalogue", text, replace)
	var faults *catalog.FileError
	switch {
	case errors.As(err, &faults):
		f := refuse(http.StatusUnprocessableEntity, "nothing was changed: the catalogue that was sent has faults")
		for _, one := range faults.Faults {
			f.faults = append(f.faults, faultJSON{Member: one.Path, Got: one.Got, Want: one.Want, Line: one.Line})
		}
		s.fail(w, f)
		return
	case err != nil:
		s.failWith(w, r, ofCatalog("", err))
		return
	}
	s.catalogChanged(r.Context(), catalog.KindField)
	s.answer(w, http.StatusOK, importedJSON{Added: n.Added, Changed: n.Changed, Same: n.Same, Removed: n.Removed})
}

// failWith answers without huma what became of a request.
func (s *Server) failWith(w http.ResponseWriter, r *http.Request, err error) {
	var f *refusal
	if errors.As(s.told(r.URL.Path, err), &f) {
		s.fail(w, f)
	}
}

// workOutAPI is what follows from a product that is being entered.
func (s *Server) workOutAPI(a *api) {
	raw(a, endpoint{
		method: "POST", path: "/api/catalog/work-out", id: "workOut", most: mostBody, summary: "Work out",
		text: "The composition of a product, the rate of a seed for a stand of plants, the nutrients and the cost of a rate. Nothing is changed. Which rate is right is for the label, the law and the agronomist.",
		done: "What follows.", fails: map[int]string{http.StatusServiceUnavailable: noCatalogDoc},
	}, reflect.TypeFor[workOutJSON](), s.workOut)
}

func (s *Server) workOut(ctx context.Context, body []byte) (out workedOutJSON, err error) {
	if s.c.Catalog == nil {
		return out, noCatalog()
	}
	var in struct {
		Product     json.RawMessage
		Rate        string
		PlantsPerM2 float64 `json:"plants_per_m2"`
		SurvivalPct float64 `json:"survival_pct"`
		RowSpacingM float64 `json:"row_spacing_m"`
	}
	if !json.Valid(body) {
		return out, notJSON()
	}
	d := json.NewDecoder(bytes.NewReader(body))
	d.DisallowUnknownFields()
	if err := d.Decode(&in); err != nil {
		return out, faulty([]faultJSON{{Got: cut(err.Error(), 100), Want: "product, rate, plants_per_m2, survival_pct and row_spacing_m"}})
	}
	if in.Product == nil {
		return out, faulty([]faultJSON{{Member: "product", Got: "nothing", Want: "a product"}})
	}
	p, err := s.c.Catalog.Products.Read(ctx, in.Product, "composition")
	var invalid *catalog.InvalidError
	switch {
	case errors.As(err, &invalid):
		return out, faulty(wireProblems("product.", invalid.Problems))
	case err != nil:
		return out, ofCatalog("products", err)
	}
	rate, err := catalog.ParseRate(in.Rate)
	if err != nil {
		return out, faulty([]faultJSON{{Member: "rate", Got: in.Rate, Want: "a rate with its unit, such as 180 kg/ha"}})
	}
	products, err := s.c.Catalog.Products.List(ctx, catalog.Which{Archived: true})
	if err != nil {
		return out, ofCatalog("products", err)
	}
	if p.ID == "" {
		p.ID = catalog.NewID()
	}
	book := catalog.NewBook(append(products, p))
	out.Composition = wireComposition(book.Of(p.ID))
	if p.Kind == catalog.Seed {
		seeds, known := agronomy.CountRate(rate.Quantity, p.ThousandKernelG)
		if in.PlantsPerM2 > 0 {
			seeds.SI, known = agronomy.SeedsPerM2(in.PlantsPerM2, p.GerminationPct/100, in.SurvivalPct/100)
			seeds.Dim = controller.DimCountPerArea
		}
		out.SeedsPerM2 = only(seeds.SI, known)
		if known {
			kg, ok := agronomy.MassRate(seeds.SI, p.ThousandKernelG)
			out.SeedKgPerM2 = only(kg.SI, ok)
			apart, ok := agronomy.SeedSpacingM(seeds.SI, in.RowSpacingM)
			out.SpacingM = only(apart, ok)
			if !rate.Stated() {
				rate.Quantity = seeds
			}
		}
	}
	n, known := book.Nutrients(p.ID, rate)
	known = known && p.Kind != catalog.Seed
	out.NKgPerM2, out.P2O5KgPerM2, out.K2OKgPerM2, out.SKgPerM2 = only(n.NKgPerM2, known), only(n.P2O5KgPerM2, known), only(n.K2OKgPerM2, known), only(n.SKgPerM2, known)
	out.PKgPerM2, out.KKgPerM2 = only(n.PKgPerM2(), known), only(n.KKgPerM2(), known)
	if rate.Dim.PerArea() {
		money, currency, ok := book.Cost(p.ID, controller.Quantity{SI: rate.SI, Dim: rate.Dim.Amount()})
		out.CostPerM2, out.Currency = only(money, ok), only(currency, ok)
	}
	return out, nil
}
