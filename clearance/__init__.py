"""Does this wheel and tire clear everything, in every position of the axle and the steering?"""
