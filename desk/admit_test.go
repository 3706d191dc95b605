package desk_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"triagebot/desk"
)

func limits(l desk.Limits) func(*desk.Config) { return func(c *desk.Config) { c.Limits = l } }

func TestAdmitOwner(t *testing.T) {
	r := newRoom(t, limits(desk.Limits{OwnerEvery: 10 * time.Second, OwnerBurst: 3}))
	now := start
	for range 3 {
		ok, say := r.desk.Admit("ada", "s1", now)
		assert.True(t, ok)
		assert.Empty(t, say)
	}
	ok, say := r.desk.Admit("ada", "s1", now)
	assert.False(t, ok)
	assert.Equal(t, []string{"That was more at once than I can answer. I did not take your last message: wait a little and send it again."}, say)
	ok, say = r.desk.Admit("ada", "s1", now.Add(5*time.Second))
	assert.False(t, ok)
	assert.Empty(t, say, "said once a minute")
	ok, _ = r.desk.Admit("bo", "s1", now)
	assert.True(t, ok, "others are not held up")
	ok, _ = r.desk.Admit("ada", "s1", now.Add(15*time.Second))
	assert.True(t, ok)
	now = now.Add(time.Minute)
	for range 3 {
		r.desk.Admit("ada", "s1", now)
	}
	ok, say = r.desk.Admit("ada", "s1", now.Add(time.Second))
	assert.False(t, ok)
	assert.NotEmpty(t, say, "and again a minute later")
}

func TestAdmitServer(t *testing.T) {
	r := newRoom(t, limits(desk.Limits{ServerEvery: time.Second, ServerBurst: 50}))
	took, told := 0, 0
	for i := range 500 {
		ok, say := r.desk.Admit(fmt.Sprintf("o%d", i), "s1", start)
		if ok {
			took++
		}
		told += len(say)
	}
	assert.Equal(t, 50, took)
	assert.Equal(t, 10, told, "a flood is not answered by a flood")
	ok, _ := r.desk.Admit("ada", "s2", start)
	assert.True(t, ok, "another server is not held up")
	ok, _ = r.desk.Admit("bo", "", start)
	assert.True(t, ok, "nor a direct message")
}

func TestAdmitKeepsBoundedMemory(t *testing.T) {
	r := newRoom(t, limits(desk.Limits{OwnerBurst: 1, Known: 10, ServerBurst: 1_000_000}))
	for i := range 10_000 {
		r.desk.Admit(fmt.Sprintf("o%d", i), "s1", start)
	}
	ok, _ := r.desk.Admit("o9999", "s1", start)
	assert.False(t, ok, "who wrote last is known")
	assert.LessOrEqual(t, r.desk.Known(), 10)
}

// A clock set back neither locks an owner out nor opens the gate.
func TestAdmitClockJumpsBack(t *testing.T) {
	r := newRoom(t, limits(desk.Limits{OwnerEvery: time.Second, OwnerBurst: 2}))
	for range 3 {
		r.desk.Admit("ada", "s1", start)
	}
	back := start.Add(-24 * time.Hour)
	ok, _ := r.desk.Admit("ada", "s1", back)
	assert.False(t, ok, "no free burst")
	ok, _ = r.desk.Admit("ada", "s1", back.Add(2*time.Second))
	assert.True(t, ok)
}

func TestFits(t *testing.T) {
	r := newRoom(t, limits(desk.Limits{Message: 10}))
	ok, _ := r.desk.Fits(strings.Repeat("Ω", 10))
	assert.True(t, ok)
	ok, say := r.desk.Fits(strings.Repeat("Ω", 11))
	assert.False(t, ok)
	assert.Contains(t, say[0], "10 characters")
}
