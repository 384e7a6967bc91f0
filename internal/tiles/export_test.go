package tiles

// Forget drops the tiles that are kept.
func (m *Maker) Forget() {
	m.mu.Lock()
	defer m.mu.Unlock()
	clear(m.kept)
	m.order.Init()
	m.bytes = 0
}
