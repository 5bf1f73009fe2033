"""Full-size outlines on paper: tiled over small sheets, or on one large one."""
