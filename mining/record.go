package mining

// Record is a closed case, cut down to what is counted. It holds no name, no
// address and no transcript; Unmatched are the only words of the owner, and
// they are only ever shown when several owners used them.
type Record struct {
	V         int      `json:"v"`
	Closed    Day      `json:"closed"`
	Kit       string   `json:"kit"`                // "" when it was not known
	Bike      string   `json:"bike,omitempty"`     // a pseudonym, the same for each case of a bike
	Distance  float64  `json:"distance,omitempty"` // km the bike had run; 0 when not known
	Age       float64  `json:"age,omitempty"`      // months since the bike was built; 0 when not known
	Symptoms  []string `json:"symptoms,omitempty"` // present
	Suspects  []string `json:"suspects,omitempty"` // causes still possible at the end of the talk
	Named     string   `json:"named,omitempty"`    // the cause the rules named
	Confirmed string   `json:"confirmed,omitempty"`
	NotFound  bool     `json:"not_found,omitempty"` // a person looked and found no cause
	Remedy    string   `json:"remedy,omitempty"`    // that mended it
	Part      string   `json:"part,omitempty"`      // of the confirmed cause
	Replaced  bool     `json:"replaced,omitempty"`  // the part is a new one from now on
	Checks    []Asked  `json:"checks,omitempty"`
	Questions int      `json:"questions"`
	Minutes   float64  `json:"minutes"`
	Solved    bool     `json:"solved"`           // without a person
	Reason    string   `json:"reason,omitempty"` // why the talk ended
	Unmatched []string `json:"unmatched,omitempty"`
	KB        string   `json:"kb,omitempty"`   // version of the rules
	Demo      bool     `json:"demo,omitempty"` // invented
}

// Asked is one check that was asked for.
type Asked struct {
	Check    string   `json:"check"`
	Value    *float64 `json:"value,omitempty"` // of a measure; absent for overload
	Overload bool     `json:"overload,omitempty"`
	Unit     string   `json:"unit,omitempty"`
	Outcome  string   `json:"outcome,omitempty"` // window or option
	Close    bool     `json:"close,omitempty"`   // too close to call
	Odd      bool     `json:"odd,omitempty"`
	Cannot   string   `json:"cannot,omitempty"` // cannot, tool or cover: why it was not done
}

// Running is what is known of a bike whether or not it ever had a case: the
// bikes that never fail are what a life of parts must not forget.
type Running struct {
	Kit      string  `json:"kit"`
	Bike     string  `json:"bike"`
	Distance float64 `json:"distance,omitempty"`
	Age      float64 `json:"age,omitempty"`
}
