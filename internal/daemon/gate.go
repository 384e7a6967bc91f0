package daemon

import (
	"fmt"
	"path/filepath"

	"drawbar/internal/access"
	"drawbar/internal/server"
)

// devicesFile is where the paired devices are kept, in the data folder.
const devicesFile = "devices.json"

// newGate is who may do what over the network. Paired devices are kept where a
// recording is; while a recorded session is shown they are known until it ends.
func newGate(cfg *Config, records bool) (*access.Gate, error) {
	c := access.Config{Public: server.IsPageFile, Helper: server.ForHelper, Hosts: cfg.File.Hosts, Log: cfg.Log}
	if records {
		c.File = filepath.Join(cfg.File.Data, devicesFile)
	}
	if cfg.Announce != nil {
		c.Announce = func(code access.Code) {
			cfg.Announce(fmt.Sprintf("a device asks to be let in; type %s on it, until %s, to make it %s",
				code.Code, code.Expires.In(cfg.File.Timezone).Format("15:04"), code.Role))
		}
	}
	gate, err := access.New(c)
	if err != nil {
		return nil, err
	}
	if err := gate.Locked(); err != nil {
		cfg.Log.Error("no other device is let in", keyError, err)
	}
	return gate, nil
}
