"""What a fit leaves behind for people: validation summary, card, and the folder that holds them."""
