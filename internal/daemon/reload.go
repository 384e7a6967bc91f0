package daemon

import (
	"context"
	"encoding/json"
	"reflect"

	"drawbar/internal/config"
	"drawbar/replay/statement"
)

// keepReloading reads the configuration again whenever it is asked to, until
// stop is closed.
func (c *core) keepReloading(ctx context.Context, reload <-chan struct{}) {
	for {
		select {
		case <-ctx.Done():
			return
		case _, open := <-reload:
			if !open {
				return
			}
			c.reload()
		}
	}
}

// reload brings changed tanks into force. It does so by an operator line, so that
// the recording says what held from when. Whatever else has changed would make
// the past look different, or needs ports and addresses opened anew: that waits
// for a restart.
func (c *core) reload() {
	log := c.cfg.Log.With(keyFile, c.cfg.Name)
	if c.cfg.Name == "" {
		log.Warn("nothing to read again: the daemon was started without a configuration file")
		return
	}
	file, err := config.Load(c.cfg.Name)
	if err != nil {
		log.Error("the configuration was not read again: mend it and ask once more", keyError, err)
		return
	}
	if !reflect.DeepEqual(file.Tanks, c.cfg.File.Tanks) && len(file.Tanks) > 0 {
		line, err := json.Marshal(map[string]any{"tanks": statement.EncodeTanks(file.Tanks)})
		if err == nil {
			_, err = c.Say(context.Background(), line)
		}
		if err != nil {
			log.Error("the tanks were not changed", keyError, err)
			return
		}
		c.cfg.File.Tanks = file.Tanks
		log.Info("the tanks of the configuration hold from now on", keyTanks, len(file.Tanks))
	}
	if needs := differing(c.cfg.File, file); len(needs) > 0 {
		log.Warn("changed, and in force only after a restart", keyNeeds, needs)
	}
}

// differing names the parts of the configuration that differ, tanks aside.
func differing(a, b config.File) (parts []string) {
	check := func(name string, a, b any) {
		if !reflect.DeepEqual(a, b) {
			parts = append(parts, name)
		}
	}
	check("gnss", a.GNSS, b.GNSS)
	check("controller", a.Controller.Line, b.Controller.Line)
	check("controller.source", []any{a.Controller.Source, a.Controller.Baud}, []any{b.Controller.Source, b.Controller.Baud})
	check("controller times", []any{a.Controller.StaleAfterS, a.Controller.ReportLagS}, []any{b.Controller.StaleAfterS, b.Controller.ReportLagS})
	check("implement", a.Implement, b.Implement)
	check("field", a.Field, b.Field)
	check("fields", a.Fields, b.Fields)
	check("limits", a.Limits, b.Limits)
	check("server", []any{a.Listen, a.Hosts}, []any{b.Listen, b.Hosts})
	check("data", a.Data, b.Data)
	return parts
}
