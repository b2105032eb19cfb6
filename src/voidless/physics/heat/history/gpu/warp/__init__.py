"""What a warp does where it steps one column, a lane a row."""
