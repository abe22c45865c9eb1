"""What will be sold: demand from a history, the service day played many times, how many pieces are worth cooking."""
