package casefile_test

import (
	"triagebot/conversation"
	"triagebot/rules"
)

func freshBelief(a *conversation.Assessment) *rules.Belief { return rules.NewBelief(a.Model) }
