package discord_test

import (
	"context"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/casefile/store"
	"triagebot/desk"
	"triagebot/tests/fakeplatform"
)

// handedOver is a thread whose talk went to a person, and the post of its case.
func (c *community) handedOver() (thread string, post fakeplatform.Message) {
	c.t.Helper()
	th := c.talk(complaint)
	c.p.Post(c.owner, th, c.call("I want a person"))
	c.await(th, 2)
	return th, c.await(c.crew, 1)[0]
}

func (c *community) press(who, label string, list []fakeplatform.Message) fakeplatform.Interaction {
	c.t.Helper()
	message, id := c.find(list, label)
	return c.answered(c.p.Press(who, message, id))
}

// one is the case that there is.
func (c *community) one() store.Case {
	c.t.Helper()
	x, _, err := c.store.Case(1)
	require.NoError(c.t, err)
	return x
}

// reposted waits until the post of the case contains a text.
func (c *community) reposted(text string) {
	c.t.Helper()
	require.True(c.t, c.p.Wait(patient, func() bool { return strings.Contains(c.p.FromBot(c.crew)[0].Content, text) }),
		"%q is not in the post: %s\n%s", text, c.p.FromBot(c.crew)[0].Content, c.log)
}

// A case is posted whole, taken, worked and closed.
func TestCaseFromPostToClose(t *testing.T) {
	c := newCommunity(t)
	c.start(settings{})
	th, post := c.handedOver()
	bo := c.volunteers[0]
	assert.Contains(t, post.Content, "Case 1: Sorrel 60")
	assert.Contains(t, post.Content, "<#"+th+">")
	require.Len(t, post.Attachments, 2)
	assert.Equal(t, "image/png", post.Attachments[0].Kind)
	assert.NotEmpty(t, post.Attachments[0].Description)
	assert.Contains(t, string(c.p.Data(post.Attachments[1])), "throttle does nothing")

	got := c.press(bo, "I take this one", c.p.FromBot(c.crew))
	assert.Contains(t, got.Reply.Content, "<#"+th+">")
	assert.Contains(t, c.p.Threads(c.help, bo), th, "who took the case joins the owner's thread")
	assert.Contains(t, c.await(th, 3)[2].Content, "has your case now")
	c.reposted("<@" + bo + "> has it.")

	// A check by name, answered by the owner, enters the case.
	got = c.press(bo, "Ask a check", c.p.FromBot(c.crew))
	all := got.Reply.Buttons()
	chosen := ""
	for id := range all {
		if strings.HasSuffix(id, "=look-inhibits") {
			chosen = strings.TrimSuffix(id, "=look-inhibits")
		}
	}
	require.NotEmpty(t, chosen, "the check is not offered: %v", all)
	c.answered(c.p.Choose(bo, got.Reply.ID, chosen, "look-inhibits"))
	list := c.await(th, 4)
	assert.Contains(t, list[3].Content, "would like to know")
	message, id := c.find(list, "side-stand is down")
	c.p.Press(c.owner, message, id)
	assert.Contains(t, c.await(th, 5)[4].Content, "Thank you")
	answer, ok := c.state("discord:t/" + th).Answer("look-inhibits")
	require.True(t, ok)
	assert.Equal(t, "stand-down", answer.Option)

	// A note.
	form := c.press(bo, "Add a note", c.p.FromBot(c.crew))
	require.Equal(t, 9, form.Kind)
	noted := c.answered(c.p.Submit(bo, form.ID, map[string]string{"text": "stand switch, I think"}))
	assert.Equal(t, "Noted.", noted.Reply.Content)

	// Closed with cause and remedy, suspects first.
	got = c.press(bo, "Close it", c.p.FromBot(c.crew))
	require.True(t, c.p.Wait(patient, func() bool { return len(c.p.Interaction(got.ID).Reply.Buttons()) > 10 }))
	cause, remedy := "", ""
	for id := range c.p.Interaction(got.ID).Reply.Buttons() {
		if strings.HasSuffix(id, "=stand-down") {
			cause = strings.TrimSuffix(id, "=stand-down")
		}
	}
	require.NotEmpty(t, cause)
	step := c.p.Choose(bo, got.Reply.ID, cause, "stand-down")
	require.True(t, c.p.Wait(patient, func() bool {
		for id := range c.p.Interaction(step).Reply.Buttons() {
			if strings.Contains(id, "|remedy|") {
				remedy, _, _ = strings.Cut(id, "=")
				return true
			}
		}
		return false
	}))
	e, err := engine()
	require.NoError(t, err)
	own := e.KB().Cause("stand-down").Remedy
	for id := range c.p.Interaction(step).Reply.Buttons() {
		if r, is := strings.CutSuffix(id, "="+own); is {
			remedy = r
		}
	}
	c.p.Choose(bo, got.Reply.ID, remedy, own)
	assert.Contains(t, c.await(th, 6)[5].Content, "Your case is closed")
	closed := c.one()
	assert.Equal(t, store.Closed, closed.State)
	assert.Equal(t, "stand-down", closed.Cause)
	assert.Equal(t, own, closed.Remedy)
	c.reposted("Closed: ")

	// And opened again, which posts it anew.
	c.press(bo, "Open again", c.p.FromBot(c.crew))
	list = c.await(c.crew, 2)
	assert.Contains(t, list[1].Content, "Nobody has it yet.")
	require.True(t, c.p.Wait(patient, func() bool { return len(c.p.FromBot(c.crew)[0].Buttons()) == 0 }), "the old post keeps its buttons")
	var deeds []string
	for _, a := range c.one().Audit {
		deeds = append(deeds, string(a.Deed)+" "+a.Who)
	}
	who := "discord:" + bo
	assert.Equal(t, []string{"opened triagebot", "taken " + who, "asked " + who, "noted " + who, "closed " + who, "reopened " + who}, deeds)
}

// Of two who press at once one has the case and the other is told who.
func TestTwoTakersAtOnce(t *testing.T) {
	c := newCommunity(t)
	c.start(settings{})
	_, post := c.handedOver()
	message, id := c.find([]fakeplatform.Message{post}, "I take this one")
	var both sync.WaitGroup
	replies := make([]string, 2)
	for n, v := range c.volunteers {
		both.Go(func() {
			i := c.p.Press(v, message, id)
			c.p.Wait(patient, func() bool { r := c.p.Interaction(i).Reply; return r != nil && r.Content != "" })
			replies[n] = c.p.Interaction(i).Reply.Content
		})
	}
	both.Wait()
	won := 0
	for n, r := range replies {
		if strings.Contains(r, "is yours") {
			won++
			assert.Equal(t, "discord:"+c.volunteers[n], c.one().Taker)
		} else {
			assert.Contains(t, r, "<@"+c.volunteers[1-n]+"> has that case")
		}
	}
	assert.Equal(t, 1, won, "%v", replies)
}

// Every button asks for the role, those of forms and selects as well.
func TestRoleIsChecked(t *testing.T) {
	c := newCommunity(t)
	c.start(settings{})
	_, post := c.handedOver()
	stranger := c.p.User("eve")
	for _, id := range []string{"take", "ask", "hand-on", "close", "reopen", "photos"} {
		got := c.answered(c.p.Press(stranger, post.ID, "t1|v|"+id+"|1"))
		assert.Contains(t, got.Reply.Content, "for people with the role", id)
	}
	form := c.answered(c.p.Press(stranger, post.ID, "t1|v|note|1"))
	got := c.answered(c.p.Submit(stranger, form.ID, map[string]string{"text": "let me in"}))
	assert.Contains(t, got.Reply.Content, "for people with the role")
	x := c.one()
	assert.Equal(t, store.Waiting, x.State)
	assert.Len(t, x.Audit, 1)

	// What nobody can press as it stands refuses politely.
	bo := c.volunteers[0]
	for id, say := range map[string]string{"t1|v|ask|1": "Which check?", "t1|v|reopen|1": "is open", "t1|v|take|99": "not there any more", "t1|v|take|x": "not there any more"} {
		got := c.answered(c.p.Press(bo, post.ID, id))
		assert.Contains(t, got.Reply.Content, say, id)
	}
}

// A case can be handed to somebody with the role, to whoever takes it, and closed
// as not found or as something the rules do not know.
func TestHandOnAndOtherEnds(t *testing.T) {
	c := newCommunity(t)
	c.start(settings{})
	th, _ := c.handedOver()
	bo, cy := c.volunteers[0], c.volunteers[1]
	c.press(bo, "I take this one", c.p.FromBot(c.crew))
	c.reposted("> has it")
	got := c.press(bo, "Hand on", c.p.FromBot(c.crew))
	c.p.Choose(bo, got.Reply.ID, "t1|v|to|1", cy)
	require.True(t, c.p.Wait(patient, func() bool { return c.one().Taker == "discord:"+cy }), "%s", c.log)
	require.True(t, c.p.Wait(patient, func() bool { return len(c.p.Threads(c.help, cy)) == 1 }))
	c.reposted("<@" + cy + "> has it")

	got = c.press(bo, "Close it", c.p.FromBot(c.crew))
	message, id := c.find([]fakeplatform.Message{*got.Reply}, "Not found")
	late := c.p.Press(bo, message, id)
	require.True(t, c.p.Wait(patient, func() bool { return strings.Contains(c.p.Interaction(late).Reply.Content, "has that case") }), "only who has it closes it")

	got = c.press(cy, "Close it", c.p.FromBot(c.crew))
	message, id = c.find([]fakeplatform.Message{*got.Reply}, "Something else")
	form := c.answered(c.p.Press(cy, message, id))
	require.Equal(t, 9, form.Kind)
	c.p.Submit(cy, form.ID, map[string]string{"cause": "a mouse in the loom", "remedy": "a cat"})
	require.True(t, c.p.Wait(patient, func() bool { return c.one().State == store.Closed }), "%s", c.log)
	x := c.one()
	assert.Equal(t, desk.Unlisted, x.Cause)
	assert.Contains(t, x.Audit[len(x.Audit)-1].Text, "a mouse in the loom")
	require.True(t, c.p.Wait(patient, func() bool {
		list := c.p.FromBot(th)
		return strings.Contains(list[len(list)-1].Content, "Your case is closed")
	}))
}

// What is done elsewhere shows in the post, and a case by direct message tells the
// volunteer how to reach its owner.
func TestDoneElsewhere(t *testing.T) {
	c := newCommunity(t)
	c.start(settings{})
	dm := c.p.Direct(c.owner)
	c.p.Post(c.owner, dm, complaint, photo(300))
	c.await(dm, 2)
	c.p.Post(c.owner, dm, "I want a person")
	c.await(c.crew, 1)
	c.reposted("Photos: 1")
	anna := desk.Person{Name: "local:anna", Roles: []desk.Role{desk.Volunteer}}
	_, err := c.desk.Take(context.Background(), anna, 1)
	require.NoError(t, err)
	c.reposted("local:anna has it")
	_, err = c.desk.HandOn(context.Background(), anna, 1, "")
	require.NoError(t, err)
	list := c.await(c.crew, 2)
	got := c.press(c.volunteers[0], "I take this one", list)
	assert.Contains(t, got.Reply.Content, "<@"+c.owner+">")
	got = c.press(c.volunteers[0], "Show the photos", c.p.FromBot(c.crew))
	require.Len(t, got.Reply.Attachments, 1)
	assert.Equal(t, photo(300).Data, c.p.Data(got.Reply.Attachments[0]))
}

// Who is forgotten goes from the volunteers' channel as well.
func TestForget(t *testing.T) {
	c := newCommunity(t)
	c.start(settings{})
	th, _ := c.handedOver()
	keeper := desk.Person{Name: "local:keeper", Roles: []desk.Role{desk.Keeper}}
	e, err := c.desk.Forget(context.Background(), keeper, "discord:"+c.owner)
	require.NoError(t, err)
	assert.Equal(t, 1, e.Conversations)
	require.True(t, c.p.Wait(patient, func() bool { return len(c.p.FromBot(c.crew)) == 0 }), "the post of the case is still there\n%s", c.log)
	require.True(t, c.p.Wait(patient, func() bool {
		left, err := c.store.Settings("discord/post/")
		return err == nil && len(left) == 0
	}))
	left, err := c.store.Settings("")
	require.NoError(t, err)
	for name, value := range left {
		assert.NotContains(t, name+value, c.owner)
	}
	// The thread is nobody's talk now, and a new call starts afresh.
	c.p.Post(c.owner, th, c.call("none of these, all clear"))
	fresh := c.thread(c.owner, 2)
	c.await(fresh, 1)
}
