package access

import (
	"context"
	"net/netip"
)

// Role is what somebody may do.
type Role string

// The roles. The zero value may do nothing, as None.
const (
	None     Role = "none"     // the page's files and pairing
	Helper   Role = "helper"   // what Config.Helper says, beside that
	Viewer   Role = "viewer"   // reads
	Operator Role = "operator" // reads and writes
)

// given tells whether a device can have the role.
func (r Role) given() bool { return r == Helper || r == Viewer || r == Operator }

// Identity is who sent a request. The zero value is a stranger.
type Identity struct {
	Role   Role
	Local  bool       // on the board itself
	Device string     // name of the paired device; empty on the board and for a stranger
	ID     string     // of the paired device
	Addr   netip.Addr // where the request came from, without zone; invalid: not known

	secure bool // came over TLS
}

type identityKey struct{}

// From returns who sent the request of a context that Wrap made; a stranger for
// any other.
func From(ctx context.Context) Identity {
	id, _ := ctx.Value(identityKey{}).(Identity)
	if id.Role == "" {
		id.Role = None
	}
	return id
}

func with(ctx context.Context, id Identity) context.Context {
	return context.WithValue(ctx, identityKey{}, id)
}
