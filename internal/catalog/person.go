package catalog

// Person is who works: a name or a role, and the number of the licence or
// certificate that goes with it.
type Person struct {
	Meta
	Name    string
	Licence string
	Note    string
}

func (w *Person) check() (p problems) {
	p.name("name", w.Name, "the person's name or role")
	p.optional("licence", w.Licence, "the number of a licence")
	p.note(w.Note)
	return p
}
