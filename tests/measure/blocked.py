"""The blocks of a page of the crew's sheet, wherever they stand."""


def every(blocks):
    """Yield blocks, and those that stand within them."""
    for block in blocks:
        yield block
        yield from every(block.get("blocks", ()))
        for column in block["columns"] if block["kind"] == "beside" else ():
            yield from every(column)


def kinds(blocks, kind):
    """Return all blocks of a kind, in order."""
    return [block for block in every(blocks) if block["kind"] == kind]
