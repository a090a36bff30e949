"""What a team needs to know on the way: where to be, who is near, where they are seen twice."""
