package daemon

import (
	"context"
	"time"

	"github.com/coreos/go-systemd/v22/daemon"
)

// notifyReady, notifyStopping and keepWatchdog speak to the service manager that
// started the daemon; where none did, they do nothing.
func notifyReady()    { _, _ = daemon.SdNotify(false, daemon.SdNotifyReady) }
func notifyStopping() { _, _ = daemon.SdNotify(false, daemon.SdNotifyStopping) }

// stuckAfter is how old the published state may be before the core counts as
// stuck: the service manager then starts the daemon anew.
const stuckAfter = 5 * time.Second

// keepWatchdog tells the service manager that the core works, until ctx
// ends.
func (c *core) keepWatchdog(ctx context.Context) {
	every, err := daemon.SdWatchdogEnabled(false)
	if err != nil || every <= 0 {
		return
	}
	tick := time.NewTicker(every / 3)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
			if _, age := c.board.hub.Read(); age < stuckAfter {
				_, _ = daemon.SdNotify(false, daemon.SdNotifyWatchdog)
			}
		}
	}
}
