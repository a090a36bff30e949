"""One process holds the card, and others, who set races up, have their batches run on it.

joined (batches as one, and apart again), segment (a batch in memory that two processes share), lender (who
holds the card), borrower (who asks).
"""
