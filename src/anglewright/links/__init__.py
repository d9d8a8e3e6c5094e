"""The links of the measuring chain, one module a kind; they know the protocol and no other link."""
