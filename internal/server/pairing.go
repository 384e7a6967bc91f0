package server

import (
	"context"
	"net/http"

	"drawbar/internal/access"
)

type accessJSON struct {
	_      struct{} `doc:"What the device that asks may do."`
	Role   string   `json:"role" enum:"operator,viewer,helper,none"`
	Local  bool     `json:"local" doc:"It is the board itself."`
	Device *string  `json:"device" doc:"Name it was paired by; null on the board and where it is not paired."`
}

type pairJSON struct {
	_    struct{} `doc:"A device that wants to be paired."`
	Code string   `json:"code" maxLength:"40" doc:"Of eight digits, as the board shows it."`
	Name string   `json:"name,omitempty" maxLength:"200" doc:"Of the device, for people."`
}

type roleJSON struct {
	_    struct{} `doc:"What a device may do."`
	Role string   `json:"role" enum:"operator,viewer,helper" doc:"operator: look and change; viewer: look; helper: look at marks and tick them off, nothing else."`
}

type deviceJSON struct {
	_        struct{} `doc:"A paired device."`
	ID       string   `json:"id"`
	Name     string   `json:"name" doc:"For people."`
	Role     string   `json:"role" enum:"operator,viewer,helper"`
	Since    *string  `json:"since" format:"date-time" doc:"When it was paired."`
	LastSeen *string  `json:"last_seen" format:"date-time" doc:"To the minute."`
}

type devicesJSON struct {
	_       struct{}     `doc:"The paired devices."`
	Devices []deviceJSON `json:"devices" doc:"In the order of pairing."`
}

type codeJSON struct {
	_       struct{} `doc:"The code by which a device is paired."`
	Code    string   `json:"code" doc:"Eight digits, such as 1234-5678."`
	Role    string   `json:"role" enum:"operator,viewer,helper" doc:"That the device gets."`
	Expires *string  `json:"expires" format:"date-time"`
}

type (
	pairInput   struct{ Body pairJSON }
	roleInput   struct{ Body roleJSON }
	deviceInput struct {
		ID string `path:"id" maxLength:"100" doc:"Of the device."`
	}
	deviceRoleInput struct {
		ID   string `path:"id" maxLength:"100" doc:"Of the device."`
		Body roleJSON
	}
)

func (s *Server) accessAPI(a *api) {
	alone := "Only this machine may connect."
	typed(a, endpoint{
		method: "GET", path: "/api/access", id: "access", summary: "Who asks", text: "What the device that asks may do. Anyone may ask.", done: "Its role.",
	}, s.access)
	a.pairing(alone)
	typed(a, endpoint{
		method: "GET", path: "/api/access/devices", id: "devices", summary: "Paired devices", text: "For operators.", done: "The devices.",
		fails: map[int]string{http.StatusConflict: alone, http.StatusServiceUnavailable: "The list of devices cannot be read."},
	}, func(ctx context.Context, _ *nothing) (out devicesJSON, err error) {
		if s.c.Access == nil {
			return out, onlyThisMachine()
		}
		list, err := s.c.Access.Devices(ctx)
		out.Devices = []deviceJSON{}
		for _, d := range list {
			out.Devices = append(out.Devices, wireDevice(d))
		}
		return out, ofAccess(err)
	})
	known := map[int]string{
		http.StatusConflict: alone, http.StatusNotFound: "No such device is paired.", http.StatusServiceUnavailable: "The list of devices cannot be read.",
	}
	typed(a, endpoint{
		method: "POST", path: "/api/access/devices/{id}", id: "setRole", most: mostBody, summary: "Change a device's role", text: "For operators.", done: "The device.", fails: known,
	}, func(ctx context.Context, in *deviceRoleInput) (out deviceJSON, err error) {
		if s.c.Access == nil {
			return out, onlyThisMachine()
		}
		d, err := s.c.Access.SetRole(ctx, in.ID, access.Role(in.Body.Role))
		if err != nil {
			return out, ofAccess(err)
		}
		return wireDevice(d), nil
	})
	typed(a, endpoint{
		method: "DELETE", path: "/api/access/devices/{id}", id: "revoke", summary: "Lock a device out", text: "For operators. What it has open is ended.", done: "It is out.", fails: known,
	}, func(ctx context.Context, in *deviceInput) (out doneJSON, err error) {
		if s.c.Access == nil {
			return out, onlyThisMachine()
		}
		if err := s.c.Access.Revoke(ctx, in.ID); err != nil {
			return out, ofAccess(err)
		}
		return doneJSON{Done: true}, nil
	})
	shown := map[int]string{http.StatusConflict: alone, http.StatusServiceUnavailable: "No device can be paired now; the log says why."}
	typed(a, endpoint{
		method: "GET", path: "/api/access/code", id: "code", summary: "The pairing code", text: "On this machine alone.", done: "The code in force.", fails: shown,
	}, func(ctx context.Context, _ *nothing) (out codeJSON, err error) {
		if s.c.Access == nil {
			return out, onlyThisMachine()
		}
		return wireCode(s.c.Access.Code(ctx))
	})
	typed(a, endpoint{
		method: "POST", path: "/api/access/code", id: "newCode", most: mostBody, summary: "A new pairing code", text: "On this machine alone. The one before is no longer in force.", done: "The code.", fails: shown,
	}, func(ctx context.Context, in *roleInput) (out codeJSON, err error) {
		if s.c.Access == nil {
			return out, onlyThisMachine()
		}
		return wireCode(s.c.Access.NewCode(ctx, access.Role(in.Body.Role)))
	})
}

func onlyThisMachine() error {
	return refuse(http.StatusConflict, "only this machine may connect, so that no device is paired; set server.listen to an address that others can reach, such as 0.0.0.0:8080")
}

func (s *Server) access(ctx context.Context, _ *nothing) (accessJSON, error) {
	if s.c.Access == nil {
		return accessJSON{Role: string(access.Operator), Local: true}, nil
	}
	v := s.c.Access.Status(ctx)
	return accessJSON{Role: string(v.Role), Local: v.Local, Device: v.Device}, nil
}

// pairing takes the code of a device and gives it its cookie.
func (a *api) pairing(alone string) {
	gate := a.s.c.Access
	cookied(a, endpoint{
		method: "POST", path: "/api/access/pair", id: "pair", most: 2 << 10, summary: "Pair a device",
		text: "Anyone may try, now and then. The answer sets the cookie by which the device is known.", done: "It is paired.",
		fails: map[int]string{
			http.StatusForbidden: "This is not the code, or the request names another host or comes from a page of another origin.",
			http.StatusConflict:  "Too many devices are paired. " + alone, http.StatusServiceUnavailable: "No device can be paired now; the log says why.",
		},
	}, func(ctx context.Context, in *pairInput) (out accessJSON, cookie string, err error) {
		if gate == nil {
			return out, "", onlyThisMachine()
		}
		p, err := gate.Pair(ctx, in.Body.Code, in.Body.Name)
		if err != nil {
			return out, "", ofAccess(err)
		}
		return accessJSON{Role: string(p.Role), Device: &p.Device.Name}, p.Cookie.String(), nil
	})
}

func wireDevice(d access.Device) deviceJSON {
	return deviceJSON{ID: d.ID, Name: d.Name, Role: string(d.Role), Since: stamp(d.Since), LastSeen: stamp(d.LastSeen)}
}

func wireCode(c access.Code, err error) (codeJSON, error) {
	if err != nil {
		return codeJSON{}, ofAccess(err)
	}
	return codeJSON{Code: c.Code, Role: string(c.Role), Expires: stamp(c.Expires)}, nil
}
