"""Which of the inputs that nobody has measured does an answer hang on? Asked of the races themselves."""
