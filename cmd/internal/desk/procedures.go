package desk

import "feedproof/checklist/procedures"

// Step finds a step of the checklists by its name.
func Step(name string) (procedures.Step, error) {
	book, err := procedures.Load()
	if err != nil {
		return procedures.Step{}, err
	}
	return named("step", name, book.All(), func(s procedures.Step) string { return s.ID })
}

// Caution finds a caution of the checklists by its name.
func Caution(name string) (procedures.Caution, error) {
	book, err := procedures.Load()
	if err != nil {
		return procedures.Caution{}, err
	}
	return named("caution", name, book.Cautions, func(c procedures.Caution) string { return c.ID })
}

func named[T any](what, name string, all []T, id func(T) string) (none T, err error) {
	i, err := PickExact(what, name, all, id)
	if err != nil {
		return none, err
	}
	return all[i], nil
}
