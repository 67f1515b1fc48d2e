namespace School.Core.Diary.Slots;

/// <summary>The best starts so far, as many as there is room for: a heap with the worst of them on top.</summary>
/// <remarks>Ranked by extra driving, then unusable gap, then whether the instructor serves the area of the pick-up, then start, then instructor. J. W. J. Williams, Algorithm 232 (Heapsort), 1964.</remarks>
internal ref struct BestStarts(Span<SlotStart> room, ReadOnlySpan<PreparedDay> days, Guid? areaId)
{
    private readonly Span<SlotStart> room = room;
    private readonly ReadOnlySpan<PreparedDay> days = days;
    private readonly Guid? areaId = areaId;

    public int Count { get; private set; }

    /// <summary>Whether nothing that adds so much driving can get in any more.</summary>
    public readonly bool Shuts(int extraDriving) =>
        Count == room.Length && (Count == 0 || extraDriving > room[0].ExtraDrivingMinutes);

    public void Add(in SlotStart start)
    {
        if (Count < room.Length)
        {
            room[Count] = start;
            Rise(Count++);
        }
        else if (Count > 0 && Compare(start, room[0]) < 0)
        {
            room[0] = start;
            Sink(0, Count);
        }
    }

    /// <summary>Puts them in order, best first.</summary>
    public void Sort()
    {
        for (var last = Count - 1; last > 0; last--)
        {
            (room[0], room[last]) = (room[last], room[0]);
            Sink(0, last);
        }
    }

    private readonly void Rise(int at)
    {
        while (at > 0 && Compare(room[at], room[(at - 1) / 2]) > 0)
        {
            var parent = (at - 1) / 2;
            (room[at], room[parent]) = (room[parent], room[at]);
            at = parent;
        }
    }

    private readonly void Sink(int at, int count)
    {
        while (2 * at + 1 < count)
        {
            var child = 2 * at + 1;
            if (child + 1 < count && Compare(room[child + 1], room[child]) > 0)
            {
                child++;
            }

            if (Compare(room[at], room[child]) >= 0)
            {
                return;
            }

            (room[at], room[child]) = (room[child], room[at]);
            at = child;
        }
    }

    private readonly int Compare(in SlotStart one, in SlotStart other)
    {
        var order = one.ExtraDrivingMinutes.CompareTo(other.ExtraDrivingMinutes);
        if (order == 0)
        {
            order = one.UnusableGapMinutes.CompareTo(other.UnusableGapMinutes);
        }

        if (order == 0 && areaId is not null)
        {
            order = days[other.Day].Instructor.ServesPlaceIn(areaId).CompareTo(days[one.Day].Instructor.ServesPlaceIn(areaId));
        }

        if (order == 0)
        {
            order = one.StartTicks.CompareTo(other.StartTicks);
        }

        return order == 0 ? days[one.Day].Instructor.Id.CompareTo(days[other.Day].Instructor.Id) : order;
    }
}
