package discord_test

func runChild(string) int { return 0 }
