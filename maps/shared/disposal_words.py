"""What happens to feedstock that is not collected, in words."""

DISPOSAL = {
    "left": "left lying",
    "burnt": "burnt",
    "dumped": "dumped on land",
    "landfill": "in a landfill",
    "heaped": "heaped",
    "sea": "put into water",
}
