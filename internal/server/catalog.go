package server

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"reflect"
	"slices"

	"drawbar/controller"
	"drawbar/internal/catalog"
)

// mostItem bounds an item that is sent: a boundary of 50,000 corners.
const mostItem = 4 << 20

func (s *Server) catalogAPI(a *api) {
	kindAPI(a, ofKind[catalog.Field, catalogFieldJSON, catalogFieldSentJSON]{
		path: "fields", one: "Field", many: "Fields", items: func(c *catalog.Catalog) catalog.Items[catalog.Field] { return c.Fields },
		fill: fillField, computed: []string{"has_boundary", "area_m2"}, keep: keepOutline,
	})
	kindAPI(a, ofKind[catalog.Season, catalogSeasonJSON, catalogSeasonSentJSON]{
		path: "seasons", one: "Season", many: "Seasons", of: "field", items: func(c *catalog.Catalog) catalog.Items[catalog.Season] { return c.Seasons },
		fill: func(_ catalog.Book, v *catalog.Season, w *catalogSeasonJSON) { w.Field = string(v.Field) },
	})
	kindAPI(a, ofKind[catalog.Plan, catalogPlanJSON, catalogPlanSentJSON]{
		path: "plans", one: "Plan", many: "Plans", of: "season", items: func(c *catalog.Catalog) catalog.Items[catalog.Plan] { return c.Plans },
		fill: func(_ catalog.Book, v *catalog.Plan, w *catalogPlanJSON) { w.Season = string(v.Season) },
	})
	kindAPI(a, ofKind[catalog.Implement, catalogImplementJSON, catalogImplementSentJSON]{
		path: "implements", one: "Implement", many: "Implements", items: func(c *catalog.Catalog) catalog.Items[catalog.Implement] { return c.Implements },
	})
	kindAPI(a, ofKind[catalog.Tractor, catalogTractorJSON, catalogTractorSentJSON]{
		path: "tractors", one: "Tractor", many: "Tractors", items: func(c *catalog.Catalog) catalog.Items[catalog.Tractor] { return c.Tractors },
	})
	kindAPI(a, ofKind[catalog.Product, catalogProductJSON, catalogProductSentJSON]{
		path: "products", one: "Product", many: "Products", items: func(c *catalog.Catalog) catalog.Items[catalog.Product] { return c.Products },
		book: true, computed: []string{"composition"},
		fill: func(b catalog.Book, v *catalog.Product, w *catalogProductJSON) {
			w.Composition = wireComposition(b.Of(v.ID))
		},
	})
	kindAPI(a, ofKind[catalog.Person, catalogPersonJSON, catalogPersonSentJSON]{
		path: "people", one: "Person", many: "People", items: func(c *catalog.Catalog) catalog.Items[catalog.Person] { return c.People },
	})
	s.catalogTextAPI(a)
	s.workOutAPI(a)
}

// ofKind is how items of a kind are served: T of the catalogue, W in answers, S as
// they are sent.
type ofKind[T, W, S any] struct {
	path, one, many string
	of              string // what an item belongs to, which a list must name; empty: nothing
	items           func(*catalog.Catalog) catalog.Items[T]
	book            bool                          // fill needs the products
	fill            func(catalog.Book, *T, *W)    // what an answer has beside the members of the file; nil: nothing
	computed        []string                      // the members of that, which a request may send back
	keep            func(sent []byte, was, is *T) // carries over what a request leaves as it is; nil: nothing

	s *Server
}

type (
	listInput struct {
		Archived bool   `query:"archived" doc:"The archived ones too."`
		Of       string `query:"of" maxLength:"100" doc:"The id of the field of which the seasons, or of the season of which the plans are listed."`
	}
	itemInput struct {
		ID string `path:"id" maxLength:"100" doc:"Of the item."`
	}
	itemPutInput struct {
		ID      string `path:"id" maxLength:"100" doc:"Of the item."`
		RawBody []byte `contentType:"application/json"`
	}
	removeInput struct {
		ID       string `path:"id" maxLength:"100" doc:"Of the item."`
		Revision int64  `query:"revision" required:"true" minimum:"1" doc:"The one that was read."`
	}
	archiveInput struct {
		ID   string `path:"id" maxLength:"100" doc:"Of the item."`
		Body archiveJSON
	}
)

func kindAPI[T, W, S any](a *api, k ofKind[T, W, S]) {
	k.s = a.s
	at, one := "/api/catalog/"+k.path, "/api/catalog/"+k.path+"/{id}"
	none := map[int]string{http.StatusServiceUnavailable: noCatalogDoc, http.StatusUnprocessableEntity: "What was asked for or sent has faults; nothing was done."}
	known := map[int]string{http.StatusServiceUnavailable: noCatalogDoc, http.StatusNotFound: "There is no such item."}
	change := map[int]string{http.StatusServiceUnavailable: noCatalogDoc, http.StatusNotFound: "There is no such item.", http.StatusConflict: "Another has changed it meanwhile."}
	conflict := reflect.TypeFor[catalogConflictJSON[W]]()
	list := endpoint{method: "GET", path: at, id: "catalog" + k.many, summary: k.many + " of the catalogue", text: "All of them.", done: "The items.", fails: none}
	if k.of != "" {
		list.text = "Those of one " + k.of + ", which must be named."
	}
	typed(a, list, k.list)
	typed(a, endpoint{
		method: "GET", path: one, id: "catalog" + k.one, summary: k.one + " of the catalogue", text: "One item with all that is known of it.", done: "The item.", fails: known,
	}, k.get)
	add := endpoint{
		method: "POST", path: at, id: "addCatalog" + k.one, most: mostItem, unread: true, summary: "Add to the catalogue: " + k.one,
		text: "It is on the disk when it is answered.", done: "The item as it stands.", fails: none,
	}
	typed(a, add, k.add)
	put := endpoint{
		method: "PUT", path: one, id: "changeCatalog" + k.one, most: mostItem, unread: true, summary: "Change in the catalogue: " + k.one,
		text: "Takes the whole item: a member that is left out is not stated any more.", done: "The item as it stands.", fails: change, conflict: conflict,
	}
	typed(a, put, k.put)
	sent := content(a.schemaOf(reflect.TypeFor[S]()))
	a.huma.OpenAPI().Paths[at].Post.RequestBody.Content = sent
	a.huma.OpenAPI().Paths[one].Put.RequestBody.Content = sent
	typed(a, endpoint{
		method: "DELETE", path: one, id: "removeCatalog" + k.one, summary: "Remove from the catalogue: " + k.one,
		text: "Where others refer to the item it is archived.", done: "What became of it.", fails: change, conflict: conflict,
	}, k.remove)
	typed(a, endpoint{
		method: "POST", path: one + "/archive", id: "archiveCatalog" + k.one, most: mostBody, summary: "Archive in the catalogue: " + k.one,
		text: "Takes the item out of use, or back into it.", done: "The item as it stands.", fails: change, conflict: conflict,
	}, k.archive)
}

const noCatalogDoc = "There is no catalogue, or it did not answer in time."

// open is the items, or why there are none.
func (k *ofKind[T, W, S]) open() (x catalog.Items[T], err error) {
	if k.s.c.Catalog == nil {
		return x, noCatalog()
	}
	return k.items(k.s.c.Catalog), nil
}

func noCatalog() error {
	return refuse(http.StatusServiceUnavailable, "there is no catalogue here: a recorded session is being shown, or the catalogue could not be opened, and the log of the daemon says why")
}

// products are all of the farm, where fill needs them.
func (k *ofKind[T, W, S]) products(ctx context.Context) (catalog.Book, error) {
	if !k.book {
		return catalog.Book{}, nil
	}
	products, err := k.s.c.Catalog.Products.List(ctx, catalog.Which{Archived: true})
	return catalog.NewBook(products), err
}

// wire turns items into answers.
func (k *ofKind[T, W, S]) wire(ctx context.Context, x catalog.Items[T], items ...T) (out []W, err error) {
	book, err := k.products(ctx)
	if err != nil {
		return nil, err
	}
	return k.wireWith(book, x, items)
}

func (k *ofKind[T, W, S]) wireWith(book catalog.Book, x catalog.Items[T], items []T) (out []W, err error) {
	out = make([]W, len(items))
	for i := range items {
		if err := json.Unmarshal(x.JSON(items[i]), &out[i]); err != nil {
			return nil, fmt.Errorf("write a %s: %w", x.Kind(), err)
		}
		any(&out[i]).(interface{ meta() *ItemMeta }).meta().Revision = x.Meta(&items[i]).Revision
		if k.fill != nil {
			k.fill(book, &items[i], &out[i])
		}
	}
	return out, nil
}

func (k *ofKind[T, W, S]) answer(ctx context.Context, x catalog.Items[T], item T, err error) (w W, _ error) {
	if err != nil {
		return w, k.refused(ctx, x, err)
	}
	out, err := k.wire(ctx, x, item)
	if err != nil {
		return w, k.refused(ctx, x, err)
	}
	return out[0], nil
}

func (k *ofKind[T, W, S]) list(ctx context.Context, in *listInput) (out catalogListJSON[W], err error) {
	x, err := k.open()
	if err != nil {
		return out, err
	}
	if (k.of == "") != (in.Of == "") {
		r := refuse(http.StatusUnprocessableEntity, "nothing was listed: what was asked for has faults")
		r.faults = []faultJSON{{Member: "of", Got: in.Of, Want: "nothing"}}
		if k.of != "" {
			r.faults = []faultJSON{{Member: "of", Got: "nothing", Want: "the id of a " + k.of}}
		}
		return out, r
	}
	// Blends may have archived products, which are read with the others.
	items, err := x.List(ctx, catalog.Which{Archived: in.Archived || k.book, Brief: true, Of: catalog.ID(in.Of)})
	if err == nil {
		var book catalog.Book
		if products, all := any(items).([]catalog.Product); all {
			book = catalog.NewBook(products)
		}
		if !in.Archived {
			items = slices.DeleteFunc(items, func(item T) bool { return x.Meta(&item).Archived })
		}
		out.Items, err = k.wireWith(book, x, items)
	}
	if err != nil {
		return out, k.refused(ctx, x, err)
	}
	return out, nil
}

func (k *ofKind[T, W, S]) get(ctx context.Context, in *itemInput) (w W, err error) {
	x, err := k.open()
	if err != nil {
		return w, err
	}
	item, err := x.Get(ctx, catalog.ID(in.ID))
	return k.answer(ctx, x, item, err)
}

func (k *ofKind[T, W, S]) read(ctx context.Context, x catalog.Items[T], body []byte) (item T, err error) {
	if !json.Valid(body) {
		return item, notJSON()
	}
	return x.Read(ctx, body, k.computed...)
}

func notJSON() error {
	return refuse(http.StatusBadRequest, "nothing was done: what was sent is not one JSON value")
}

func (k *ofKind[T, W, S]) add(ctx context.Context, in *rawInput) (w W, err error) {
	x, err := k.open()
	if err != nil {
		return w, err
	}
	item, err := k.read(ctx, x, in.RawBody)
	if err == nil {
		item, err = x.Add(ctx, item)
	}
	if err == nil {
		k.changed(ctx, x)
	}
	return k.answer(ctx, x, item, err)
}

func (k *ofKind[T, W, S]) put(ctx context.Context, in *itemPutInput) (w W, err error) {
	x, err := k.open()
	if err != nil {
		return w, err
	}
	item, err := k.read(ctx, x, in.RawBody)
	if err != nil {
		return w, k.refused(ctx, x, err)
	}
	m := x.Meta(&item)
	var faults []faultJSON
	if m.ID != "" && string(m.ID) != in.ID {
		faults = append(faults, faultJSON{Member: "id", Got: string(m.ID), Want: "the id of the address, or none"})
	}
	if m.Revision == 0 {
		faults = append(faults, faultJSON{Member: "revision", Got: "nothing", Want: "the revision that was read"})
	}
	if len(faults) > 0 {
		return w, faulty(faults)
	}
	m.ID = catalog.ID(in.ID)
	if k.keep != nil {
		was, err := x.Get(ctx, m.ID)
		if err != nil {
			return w, k.refused(ctx, x, err)
		}
		k.keep(in.RawBody, &was, &item)
	}
	item, err = x.Update(ctx, item)
	if err == nil {
		k.changed(ctx, x)
	}
	return k.answer(ctx, x, item, err)
}

func (k *ofKind[T, W, S]) remove(ctx context.Context, in *removeInput) (out removedJSON, err error) {
	x, err := k.open()
	if err != nil {
		return out, err
	}
	became, err := x.Remove(ctx, catalog.ID(in.ID), in.Revision)
	if err != nil {
		return out, k.refused(ctx, x, err)
	}
	k.changed(ctx, x)
	out.Became = "deleted"
	if became == catalog.Archived {
		out.Became = "archived"
	}
	return out, nil
}

func (k *ofKind[T, W, S]) archive(ctx context.Context, in *archiveInput) (w W, err error) {
	x, err := k.open()
	if err != nil {
		return w, err
	}
	item, err := x.Archive(ctx, catalog.ID(in.ID), in.Body.Revision, in.Body.Archived)
	if err == nil {
		k.changed(ctx, x)
	}
	return k.answer(ctx, x, item, err)
}

func (k *ofKind[T, W, S]) changed(ctx context.Context, x catalog.Items[T]) {
	k.s.catalogChanged(ctx, x.Kind())
}

// catalogChanged tells the rest of the daemon. The change itself is done whatever
// comes of that.
func (s *Server) catalogChanged(ctx context.Context, of catalog.Kind) {
	if s.c.CatalogChanged == nil {
		return
	}
	if err := s.c.CatalogChanged(context.WithoutCancel(ctx), of); err != nil {
		s.log.Warn("a change of the catalogue is not known to the work yet", "error", err)
	}
}

// refused is what the catalogue's error means to who asked.
func (k *ofKind[T, W, S]) refused(ctx context.Context, x catalog.Items[T], err error) error {
	var conflict *catalog.ConflictError
	if !errors.As(err, &conflict) {
		return ofCatalog(k.path, err)
	}
	text := fmt.Sprintf("nothing was changed: this %s was changed by another meanwhile; look at it as it stands now and repeat the change", conflict.Kind)
	now, err := x.Get(ctx, conflict.ID)
	if err != nil {
		return ofCatalog(k.path, err)
	}
	out, err := k.wire(ctx, x, now)
	if err != nil {
		return ofCatalog(k.path, err)
	}
	r := refuse(http.StatusConflict, "%s", text)
	r.whole = catalogConflictJSON[W]{Error: text, Faults: []faultJSON{}, Current: out[0]}
	return r
}

// ofCatalog is what an error of the catalogue means to who asked.
func ofCatalog(path string, err error) error {
	var invalid *catalog.InvalidError
	var gone *catalog.NotFoundError
	switch {
	case errors.As(err, &invalid):
		return faulty(wireProblems("", invalid.Problems))
	case errors.As(err, &gone):
		return refuse(http.StatusNotFound, "%v; /api/catalog/%s lists those that there are", gone, path)
	case errors.Is(err, context.DeadlineExceeded), errors.Is(err, context.Canceled):
		return refuse(http.StatusServiceUnavailable, "the catalogue did not answer in time; try again")
	}
	return err
}

func faulty(faults []faultJSON) error {
	r := refuse(http.StatusUnprocessableEntity, "nothing was changed: what was sent has faults")
	r.faults = faults
	return r
}

func wireProblems(at string, problems []controller.Problem) []faultJSON {
	out := []faultJSON{}
	for _, p := range problems {
		out = append(out, faultJSON{Member: at + p.Path, Got: p.Got, Want: p.Want})
	}
	return out
}

func fillField(_ catalog.Book, f *catalog.Field, w *catalogFieldJSON) {
	w.HasBoundary, w.AreaM2 = f.AreaM2 > 0, only(f.AreaM2, f.AreaM2 > 0)
}

// keepOutline keeps the outline of a field where a request says nothing of it.
func keepOutline(sent []byte, was, is *catalog.Field) {
	var members map[string]json.RawMessage
	if json.Unmarshal(sent, &members) != nil {
		return // it was read before
	}
	if _, said := members["boundary"]; !said {
		is.Outline = was.Outline
	}
}

func wireComposition(c catalog.Composition) compositionJSON {
	a := c.Analysis
	return compositionJSON{
		NPct: only(a.NPct, c.HasAnalysis), P2O5Pct: only(a.P2O5Pct, c.HasAnalysis), K2OPct: only(a.K2OPct, c.HasAnalysis), SPct: only(a.SPct, c.HasAnalysis),
		DensityKgPerL: only(c.DensityKgPerL, c.DensityKgPerL > 0),
	}
}
