package catalog

// names finds items of one kind by what a file says of them: an id or a name.
type names struct {
	ids      map[ID]bool
	live     map[string]ID
	archived map[string]ID // "" where several have the name
}

func newNames[T any](t *table[T], items []T) names {
	n := names{map[ID]bool{}, map[string]ID{}, map[string]ID{}}
	for i := range items {
		m := t.meta(&items[i])
		n.ids[m.ID] = true
		key := t.key(&items[i])
		if !m.Archived {
			n.live[key] = m.ID
		} else if _, twice := n.archived[key]; twice {
			n.archived[key] = ""
		} else {
			n.archived[key] = m.ID
		}
	}
	return n
}

// find is the item that a text means, "" for none: that of the id, else the one of
// the name in use, else the only archived one of the name.
func (n names) find(s string) ID {
	if n.ids[ID(s)] {
		return ID(s)
	}
	if id := n.live[nameKey(s)]; id != "" {
		return id
	}
	return n.archived[nameKey(s)]
}

// say is the text by which find finds an item again: its name where that will do.
func (n names) say(id ID, name string) string {
	if n.find(name) == id {
		return name
	}
	return string(id)
}
