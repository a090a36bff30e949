"""What do counts and split times say of the inputs that nobody has measured?"""
