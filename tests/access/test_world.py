from training.records.models import Record
def test_w(world):
    import collections
    print(collections.Counter(Record.objects.values_list("kind", flat=True)))
