package learning

import "fmt"

// String says it in a line; of nothing it says that there was none.
func (r *Rehearsed) String() string {
	if r == nil {
		return "no"
	}
	return fmt.Sprintf("%d talks: right %.1f %% (was %.1f), wrong part %.1f %% (was %.1f); %d better, %d worse, %d otherwise; %+d questions where both were right",
		r.Talks, 100*r.RightAfter, 100*r.RightBefore, 100*r.WrongAfter, 100*r.WrongBefore, r.Better, r.Worse, r.Others, r.Questions)
}
