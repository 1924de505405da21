"""The pages of History: read `history`, then `look_backs`, `exposed` and `proof`.

`exposures_api` gives exposures as JSON.
"""
