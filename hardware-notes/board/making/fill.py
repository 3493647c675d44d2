"""Fills planes and pours of a board file, in place. For the python3 that KiCad comes with."""
import sys
import pcbnew

pcbnew.KIID.SeedGenerator(1)  # ids of what is made here: the same each time
board = pcbnew.LoadBoard(sys.argv[1])
pcbnew.ZONE_FILLER(board).Fill(board.Zones())
pcbnew.SaveBoard(sys.argv[1], board)
