package cli

import (
	"bufio"
	"fmt"
	"io"
	"strings"
)

// chapter is what the tour says of a part of the story, and the lines of it
// that it shows, by how they begin; the others run unseen.
type chapter struct {
	says  string
	shows []string
}

// tour walks a newcomer through the demo, chapter by chapter.
var tour = []chapter{
	{"A shop is one folder. Each person has a key: what they commit is signed with it. Each gauge has its class and the day its calibration ends, because a number is only as good as the gauge it was read on. Parts are recorded when they arrive, with the curves that the calculation needs.",
		[]string{"shop new", "person add tech-1", "gauge list"}},
	{"Before a bolt is turned the plan says what the engine needs and what the pump gives, at the real pressure and with the volts that reach it. A question about another pump records nothing.",
		[]string{"plan kestrel --what-if"}},
	{"The work goes down as it is done: a step, a caution with what shows it, a reading with its unit. A bare number is refused with the units it could have had; a bad number is not: it is a fact. Whatever was typed is on the disk before the prompt is back. feedproof work kestrel asks for these things one after the other.",
		[]string{"caution kestrel K02", "read kestrel zero", "2 read kestrel base", "read kestrel base 43.5 psi"}},
	{"Rules judge the record at any moment. What stops the car is said with the number, the limit, what it means and what to do next. The record is refused as if all were well; the same facts can be kept with the car held.",
		[]string{"3 commit kestrel", "commit kestrel --held"}},
	{"The bigger pump goes in, and this time the gas is read before the joint is opened. A hold point is a lock on the next physical act: it closes when what it waits for is there. Whoever did the work cannot sign it off.",
		[]string{"holdpoint close kestrel HP2", "holdpoint close kestrel HP5", "3 signoff", "signoff kestrel --as"}},
	{"The customer gets a sheet; anybody with git and ssh-keygen can check the history without this program.",
		[]string{"verify"}},
}

// shown reports that the tour shows a line of its chapter.
func (c chapter) shown(line string) bool {
	for _, start := range c.shows {
		if strings.HasPrefix(line, start) {
			return true
		}
	}
	return false
}

// guidedTour runs the story and shows the lines that teach something, stopping
// after each chapter on a terminal.
func guidedTour(p play) error {
	answers := bufio.NewReader(p.world.In)
	at := -1
	for _, line := range demoStory {
		if strings.HasPrefix(line, "#") {
			if at >= 0 {
				pause(p, answers)
			}
			at++
			if err := demoLine(p, line); err != nil {
				return err
			}
			p.out.Say("")
			p.out.Say("%s", tour[at].says)
			continue
		}
		if err := demoLine(tour[at].seen(p, line), line); err != nil {
			return err
		}
	}
	p.out.Say("")
	p.out.Say("The shop is in %s. Go on by yourself:", p.dir)
	for _, next := range []string{"feedproof --shop " + p.dir, "feedproof --shop " + p.dir + " work kestrel", "feedproof --shop " + p.dir + " sheet kestrel --for lead", "feedproof explain L06"} {
		p.out.Say("  %s", next)
	}
	return nil
}

// seen is the play as a line of the chapter is played: before the newcomer, or
// before nobody.
func (c chapter) seen(p play, line string) play {
	if !c.shown(line) {
		unseen := *p.out
		unseen.Out, p.world.Out = io.Discard, io.Discard
		p.out = &unseen
	}
	return p
}

// pause waits for Enter, where somebody is there to press it.
func pause(p play, answers *bufio.Reader) {
	if !p.out.Interactive(p.world.In) {
		return
	}
	fmt.Fprint(p.out.Out, "\n(Enter goes on) ")
	_, _ = answers.ReadString('\n')
}
