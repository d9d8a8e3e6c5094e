"""One module for each job of the user: plain inputs in, one frozen result out, the same for every door."""
