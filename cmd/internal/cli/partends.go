package cli

import (
	"errors"
	"slices"
	"strings"

	"feedproof/checklist/fittings"
	"feedproof/cmd/internal/desk"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

// partEnds reads ends such as in=flare37-m:-8 and out=orb-m:-8@9.9mm.
func partEnds(typed []string) ([]schema.PartEnd, error) {
	var out []schema.PartEnd
	for _, text := range typed {
		e, err := partEnd(text)
		if err != nil {
			return nil, err
		}
		if slices.ContainsFunc(out, func(o schema.PartEnd) bool { return o.Name == e.Name }) {
			return nil, wrong("--end out=..", "--end %s: the part has an end of that name already", text)
		}
		out = append(out, e)
	}
	return out, nil
}

const endExample = "--end in=flare37-m:-8"

func partEnd(text string) (schema.PartEnd, error) {
	name, end, named := strings.Cut(text, "=")
	if !named || name == "" {
		return schema.PartEnd{}, wrong(endExample, "--end %s: has no name", text)
	}
	end, bore, bored := strings.Cut(end, "@")
	e, err := fittings.Parse(end)
	if unknown := (*fittings.UnknownKindError)(nil); errors.As(err, &unknown) {
		return schema.PartEnd{}, wrong(nearestOf(unknown.Kind, fittings.Kinds()), "--end %s: %v", text, err)
	}
	if err != nil {
		return schema.PartEnd{}, wrong(endExample, "--end %s: %v", name, err)
	}
	out := schema.PartEnd{Name: spaced(name), End: e.String()}
	if bored {
		if out.Bore, err = parseQ[quantity.Length](bore); err != nil {
			return out, wrong(endExample+"@9.9mm", "--end %s: its bore: %v", text, err)
		}
	}
	return out, nil
}

// compound is the seal that was meant, by its letters.
func compound(typed string) (string, error) {
	if typed == "" || desk.Fold(typed) == schema.Unknown {
		return typed, nil
	}
	s, ok := fittings.FindSeal(typed)
	if !ok {
		return "", wrong(nearestOf(typed, fittings.Compounds()), "--seal %s: is not a compound that the table knows; write unknown if nobody knows", typed)
	}
	return s.Compound, nil
}

func hoseData(o partReceiveOptions) (*schema.HoseData, error) {
	d := o.hose
	if d.Kind == "" || desk.Fold(d.Kind) == schema.Unknown {
		return &d, nil
	}
	h, ok := fittings.FindHose(d.Kind)
	if !ok {
		return nil, wrong(nearestOf(d.Kind, fittings.HoseKinds()), "--hose-kind %s: is not a kind that the table knows; write unknown if nobody knows", d.Kind)
	}
	d.Kind = h.Kind
	return &d, nil
}

func nearestOf(typed string, all []string) string {
	return desk.Nearest(typed, all, func(n string) []string { return []string{n} })
}

// joins reads what the ends of a part join: in="post filter.out", or d=plug. A
// clamp, washers or paste stands behind a colon: a=pump.b:"ear clamp".
func joins(typed []string) ([]schema.Join, error) {
	var out []schema.Join
	for _, text := range typed {
		name, to, named := strings.Cut(text, "=")
		to, with, _ := strings.Cut(to, ":")
		j := schema.Join{End: spaced(name), With: strings.TrimSpace(with)}
		dot := strings.LastIndexByte(to, '.')
		switch {
		case !named || name == "" || to == "":
			return nil, wrong(`--join in="post filter.out"`, "--join %s: which end joins what", text)
		case desk.Fold(to) == "plug":
		case dot <= 0 || dot == len(to)-1:
			return nil, wrong(`--join in="post filter.out", or --join in=plug`, "--join %s: which end of it", text)
		default:
			j.Position, j.Of = spaced(to[:dot]), spaced(to[dot+1:])
		}
		out = append(out, j)
	}
	return out, nil
}
