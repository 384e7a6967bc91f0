package server

import (
	"context"
	"fmt"
	"maps"
	"mime"
	"net/http"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humago"
)

// api is the addresses of the server and their description.
type api struct {
	s       *Server
	mux     *http.ServeMux
	huma    huma.API
	methods map[string][]string // by path of the mux
}

// endpoint is one operation at one address.
type endpoint struct {
	method, path  string
	id            string
	summary, text string
	done          string         // what an answer of 200 is
	fails         map[int]string // answers beyond those that everything gives, by status
	most          int64          // bytes of a request's body; 0: it has none
	unread        bool           // the body is read by the handler
	conflict      reflect.Type   // of the answer 409; nil: as of every failure
}

// mostBody bounds what is sent where nothing else is said.
const mostBody = 16 << 10

func newAPI(s *Server) *api {
	mux := http.NewServeMux()
	json := huma.DefaultJSONFormat
	config := huma.Config{
		OpenAPI: &huma.OpenAPI{
			OpenAPI: "3.1.0",
			Info: &huma.Info{
				Title: "drawbar", Version: "1",
				Description: "What a machine put on the ground, as it happens. Numbers are SI with the unit in their name, positions degrees WGS 84 with the longitude first, times RFC 3339 in UTC; null is not known, which is not zero. This machine is served freely, others once they are paired, where the daemon lets them connect.",
			},
			Servers:    []*huma.Server{{URL: "/"}},
			Components: &huma.Components{Schemas: huma.NewMapRegistry(schemas, schemaName)},
		},
		Formats:       map[string]huma.Format{"application/json": json, "json": json},
		DefaultFormat: "application/json",
		Transformers:  []huma.Transformer{words},
	}
	a := &api{s: s, mux: mux, huma: humago.New(mux, config), methods: map[string][]string{}}
	a.huma.UseMiddleware(a.onlyJSON)
	return a
}

// onlyJSON refuses what is sent as something else: a form of another page is.
func (a *api) onlyJSON(ctx huma.Context, next func(huma.Context)) {
	if ctx.Operation().RequestBody != nil {
		if kind, _, err := mime.ParseMediaType(ctx.Header("Content-Type")); err != nil || kind != "application/json" {
			_, w := humago.Unwrap(ctx)
			a.s.fail(w, refuse(http.StatusUnsupportedMediaType, "what is sent here is JSON: send it with Content-Type: application/json"))
			return
		}
	}
	next(ctx)
}

// output is an answer of 200.
type output[B any] struct{ Body B }

// typed is an operation that takes and gives what its types say.
func typed[I, B any](a *api, e endpoint, handle func(context.Context, *I) (B, error)) {
	op := a.operation(e)
	huma.Register(a.huma, op, func(ctx context.Context, in *I) (*output[B], error) {
		body, err := handle(ctx, in)
		if err != nil {
			return nil, a.s.told(op.Path, err)
		}
		return &output[B]{body}, nil
	})
	a.took(e.method, e.path)
}

// cookied is typed of an answer that also sets a cookie.
func cookied[I, B any](a *api, e endpoint, handle func(context.Context, *I) (body B, cookie string, err error)) {
	type output struct {
		SetCookie string `header:"Set-Cookie"`
		Body      B
	}
	op := a.operation(e)
	huma.Register(a.huma, op, func(ctx context.Context, in *I) (*output, error) {
		body, cookie, err := handle(ctx, in)
		if err != nil {
			return nil, a.s.told(op.Path, err)
		}
		return &output{cookie, body}, nil
	})
	a.took(e.method, e.path)
}

// told is an error as it is answered: one that has no words for people goes to the
// log.
func (s *Server) told(path string, err error) error {
	if _, ok := err.(*refusal); ok {
		return err
	}
	s.log.Error("answering a request failed", "path", path, "error", err)
	return refuse(http.StatusInternalServerError, "%v", err)
}

// plain is an operation that is answered without huma and described alone. body is
// the content of its answer of 200; at is its pattern where that is not its path.
func (a *api) plain(e endpoint, at string, body map[string]*huma.MediaType, handle http.HandlerFunc, params ...*huma.Param) {
	op := a.operation(e)
	op.Responses["200"].Content = body
	op.Parameters = params
	a.huma.OpenAPI().AddOperation(&op)
	if at == "" {
		at = e.path
	}
	a.mux.HandleFunc(e.method+" "+at, handle)
	a.took(e.method, at)
}

func (a *api) took(method, path string) { a.methods[path] = append(a.methods[path], method) }

// operation is the description of an endpoint without what its types say.
func (a *api) operation(e endpoint) huma.Operation {
	fails := map[int]string{
		http.StatusUnauthorized:        "This device is not paired.",
		http.StatusForbidden:           "The request names another host, comes from a page of another origin, or this device may not do it.",
		http.StatusMisdirectedRequest:  "The request names a host that is not this board.",
		http.StatusTooManyRequests:     "Asked too often.",
		http.StatusInternalServerError: "A fault of the program; its log says why.",
	}
	if e.most > 0 {
		fails[http.StatusBadRequest] = "What was sent is not one JSON value."
		fails[http.StatusRequestTimeout] = "What was sent did not arrive in time."
		fails[http.StatusRequestEntityTooLarge] = fmt.Sprintf("More than %d bytes were sent.", e.most)
		fails[http.StatusUnsupportedMediaType] = "Not sent as application/json."
		fails[http.StatusUnprocessableEntity] = "What was sent has faults; nothing was done."
	} else if strings.Contains(e.path, "{") {
		fails[http.StatusUnprocessableEntity] = "The address has faults."
	}
	maps.Copy(fails, e.fails)
	op := huma.Operation{
		Method: e.method, Path: e.path, OperationID: e.id, Summary: e.summary, Description: e.text,
		MaxBodyBytes:     e.most + 1, // huma refuses a body as long as that
		SkipValidateBody: e.unread,
		Responses:        map[string]*huma.Response{"200": {Description: e.done}},
	}
	failure := content(a.schemaOf(reflect.TypeFor[failureJSON]()))
	for status, text := range fails {
		op.Responses[strconv.Itoa(status)] = &huma.Response{Description: text, Content: failure}
	}
	if e.conflict != nil {
		op.Responses["409"].Content = content(a.schemaOf(e.conflict))
	}
	return op
}

func content(s *huma.Schema) map[string]*huma.MediaType {
	return map[string]*huma.MediaType{"application/json": {Schema: s}}
}

func textContent(kind string) map[string]*huma.MediaType {
	return map[string]*huma.MediaType{kind: {Schema: &huma.Schema{Type: huma.TypeString}}}
}

// schemaOf is the reference to the schema of a type.
func (a *api) schemaOf(t reflect.Type) *huma.Schema {
	return a.huma.OpenAPI().Components.Schemas.Schema(t, true, t.Name())
}

// otherwise answers what no endpoint takes.
func (a *api) otherwise() {
	for path, methods := range a.methods {
		allowed := slices.Sorted(slices.Values(methods))
		if i := slices.Index(allowed, http.MethodGet); i >= 0 {
			allowed = slices.Insert(allowed, i+1, http.MethodHead)
		}
		allow := strings.Join(allowed, ", ")
		a.mux.HandleFunc(path, func(w http.ResponseWriter, r *http.Request) {
			w.Header().Set("Allow", allow)
			a.s.fail(w, refuse(http.StatusMethodNotAllowed, "%s takes %s alone", clip(r.URL.Path), allow))
		})
	}
	a.mux.HandleFunc("/", func(w http.ResponseWriter, r *http.Request) {
		a.s.fail(w, refuse(http.StatusNotFound, "there is nothing at %s; /openapi.json lists what there is", clip(r.URL.Path)))
	})
}
