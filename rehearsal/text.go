package rehearsal

import (
	"fmt"
	"io"
	"strings"
)

// WriteText writes a report as a table for a terminal.
func (r *Report) WriteText(w io.Writer) error {
	p := &printer{w: w}
	p.line("%d talks, knowledge base %s, seeds %d to %d", len(r.Talks), r.KB, r.Seed, r.Seed+uint64(max(r.Seeds, 1))-1)
	p.line("")
	p.line("%-24s %6s  %-22s %6s %6s %6s  %s", "", "judged", "right (95 % interval)", "wrong", "both", "handed", "questions, minutes: mean (90th percentile)")
	head := r.Total
	head.Name = "one listed fault"
	p.row(head)
	for _, t := range r.Kits {
		p.row(t)
	}
	for _, t := range r.Sorts {
		if t.Name != string(Single) {
			p.row(t)
		}
	}
	p.line("")
	for _, t := range r.Manners {
		p.row(t)
	}
	t := r.Total
	p.line("")
	p.line("beside the judged: %d owners apart who cannot part the cause from a rival (%d right, %d guessed); %d stopped for danger; %d faults that do not show",
		t.Apart, t.ApartRight, t.ApartWrong, t.Stopped, t.Unnoticed)
	all := tally("", r.Talks)
	p.line("all talks: dangers told %d, missed %d; cautions due and not said %d; asked twice %d; cheap tries in vain %d",
		all.DangerTold, all.DangerMissed, all.Unwarned, all.Twice, all.Tries)
	p.line("language: complaints not taken in %d, symptoms taken in that are not there %d, answers misheard %d, not understood %d",
		all.Missed, all.Invented, all.Misheard, all.NotHeard)
	p.yardsticks(r.Yardsticks)
	p.line("")
	p.line("by cause, worst first")
	for _, c := range r.Causes {
		p.row(c)
		for i, x := range c.Reasons {
			if i == 2 {
				break
			}
			p.line("    %3d %s (%s)", x.N, x.Name, x.Cases[0])
		}
	}
	if len(r.Reasons) > 0 {
		p.line("")
		p.line("what kept talks from their right end")
		for i, x := range r.Reasons {
			if i == 25 {
				p.line("    and %d more kinds", len(r.Reasons)-i)
				break
			}
			p.line("    %3d %s", x.N, x.Name)
		}
	}
	return p.err
}

// WriteChanges writes what became different, for a terminal.
func (r *Report) WriteChanges(w io.Writer) error {
	p := &printer{w: w}
	if len(r.Changes) == 0 {
		p.line("the same owners come to the same ends with both knowledge bases")
	}
	for _, c := range r.Changes {
		p.line("%s: %d better, %d worse, %d otherwise, questions %+d", c.Cause, len(c.Better), len(c.Worse), len(c.Other), c.Questions)
		for _, list := range []struct {
			mark  string
			cases []string
		}{{"+", c.Better}, {"-", c.Worse}, {" ", c.Other}} {
			for _, x := range list.cases {
				p.line("  %s %s", list.mark, x)
			}
		}
	}
	return p.err
}

// WriteTalk writes a talk in full, and what is counted of it.
func (t Talk) WriteTalk(w io.Writer) error {
	p := &printer{w: w}
	p.line("%s, owner: %s", t.Case, t.Manner)
	for _, l := range t.Lines {
		if l.Owner {
			p.line("")
			p.line("> %s", l.Text)
			continue
		}
		p.line("  %s", l.Text)
	}
	p.line("")
	p.line("outcome: %s (%s) after %d questions, %d messages, %.0f minutes", t.Outcome, t.How, t.Questions, t.Messages, t.Minutes)
	for _, x := range []struct {
		name string
		list []string
	}{
		{"no check parts it from", t.Rivals}, {"wrong named", t.WrongNamed}, {"tries in vain", t.Tries}, {"danger told", t.DangerTold},
		{"danger missed", t.DangerMissed}, {"not warned", t.Unwarned}, {"asked twice", t.Twice}, {"told and not taken in", t.Missed},
		{"taken in and not there", t.Invented}, {"misheard", t.Misheard}, {"not understood", t.NotHeard}, {"unlikely by the rules", t.Unlikely},
		{"suspects at the end", t.Suspects},
	} {
		if len(x.list) > 0 {
			p.line("%s: %s", x.name, strings.Join(x.list, "; "))
		}
	}
	if t.Misread > 0 {
		p.line("misread and left so: %d", t.Misread)
	}
	if t.Reason != "" {
		p.line("why: %s", t.Reason)
	}
	return p.err
}

// printer writes lines until one fails.
type printer struct {
	w   io.Writer
	err error
}

func (p *printer) line(format string, args ...any) {
	if p.err == nil {
		_, p.err = fmt.Fprintf(p.w, strings.TrimRight(format, " ")+"\n", args...)
	}
}

func (p *printer) row(t Tally) {
	p.line("%-24s %6d  %5.1f %% (%5.1f - %5.1f) %5.1f %% %4.1f %% %4.1f %%  %4.1f (%2.0f), %3.0f (%3.0f)", t.Name, t.Judged,
		100*t.Right.Is, 100*t.Right.Low, 100*t.Right.High, 100*t.Wrong.Is, 100*t.Both.Is, 100*t.Handed.Is,
		t.Questions.Mean, t.Questions.P90, t.Minutes.Mean, t.Minutes.P90)
}

func (p *printer) yardsticks(y *Yardsticks) {
	if y == nil {
		return
	}
	p.line("")
	p.line("the same bikes without a talk, %d of them: questions to the remedy", y.Bikes)
	for _, h := range y.Ways {
		p.line("  %-22s right %5.1f %%, wrong %4.1f %%; questions %4.1f (%2.0f); on the %d bikes that all ways solve %4.1f questions, %3.0f minutes", h.Name,
			100*h.Right.Is, 100*h.Wrong.Is, h.Questions.Mean, h.Questions.P90, y.Common, h.CommonQuestions.Mean, h.CommonMinutes.Mean)
	}
	p.line("  entropy bound, bikes the bot solves: %.2f bits of doubt about the remedy at the start, %.2f left at the end; no way needs fewer than %.2f questions on average", y.Bits, y.BitsLeft, y.Bound)
	for _, f := range y.Families {
		p.line("  %s, %s: best plan %.1f minutes (exact: %t), the bot's %.1f, ratio %.3f; information gain %.3f; fixed order %.3f", f.Kit, f.Name, f.Best, f.Exact, f.Bot, f.Bot/f.Best, f.Gain/f.Best, f.Fixed/f.Best)
	}
}
