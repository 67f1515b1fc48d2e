using NodaTime;
using School.Core.Accounts;
using School.Core.Cars;
using School.Core.Diary;

namespace School.Core.Tests.Accounts;

public sealed class PriceListTests
{
    private static readonly Guid Marigold = Guid.Parse("00000000-0000-0000-0000-00000000000a");
    private static readonly LocalDate First = new(2026, 1, 1);

    private static readonly PriceRule Hour = Rule(1, First, 36_00);

    [Fact]
    public void A_rise_touches_only_what_is_booked_from_its_day_on()
    {
        PriceRule[] list = [Hour, Rule(2, new(2026, 6, 1), 38_00)];
        Assert.Equal(36_00, Price(list, Lesson(booked: new(2026, 5, 31), start: new(2026, 8, 3, 10, 0))));
        Assert.Equal(38_00, Price(list, Lesson(booked: new(2026, 6, 1), start: new(2026, 6, 2, 10, 0))));
        Assert.Null(Price(list, Lesson(booked: new(2025, 12, 31), start: new(2026, 6, 2, 10, 0))));
    }

    [Fact]
    public void Lengths_cost_in_proportion_unless_a_length_has_its_own_price()
    {
        Assert.Equal(54_00, Price([Hour], Lesson(minutes: 90)));
        PriceRule[] list = [Hour, Rule(2, First, 50_00, 90) with { OnlyThisLength = true }];
        Assert.Equal(50_00, Price(list, Lesson(minutes: 90)));
        Assert.Equal(72_00, Price(list, Lesson(minutes: 120)));
    }

    [Fact]
    public void The_price_that_asks_most_goes_before_the_others()
    {
        var evening = new PriceHours(0b0011111, new(18, 0), LocalTime.Midnight);
        PriceRule[] list =
        [
            Hour,
            Rule(2, First, 37_00) with { Gearbox = Gearbox.Automatic },
            Rule(3, First, 40_00) with { Hours = evening },
            Rule(4, First, 45_00) with { Kind = LessonKind.Motorway },
            Rule(5, First, 39_00) with { InstructorId = Marigold },
        ];
        var tuesday = new LocalDateTime(2026, 6, 2, 17, 59);
        Assert.Equal(36_00, Price(list, Lesson(start: tuesday)));
        Assert.Equal(40_00, Price(list, Lesson(start: tuesday.PlusMinutes(1))));
        Assert.Equal(36_00, Price(list, Lesson(start: tuesday.PlusDays(4).PlusMinutes(1))));
        Assert.Equal(40_00, Price(list, Lesson(start: tuesday.PlusMinutes(1)) with { Gearbox = Gearbox.Automatic }));
        Assert.Equal(37_00, Price(list, Lesson(start: tuesday) with { Gearbox = Gearbox.Automatic }));
        Assert.Equal(45_00, Price(list, Lesson(start: tuesday.PlusMinutes(1)) with { Kind = LessonKind.Motorway }));
        Assert.Equal(39_00, Price(list, Lesson() with { Kind = LessonKind.Motorway, InstructorId = Marigold }));
    }

    [Fact]
    public void A_price_that_ends_leaves_the_wider_one()
    {
        PriceRule[] list = [Hour, Rule(2, First, 40_00) with { Gearbox = Gearbox.Automatic }, new PriceRule(Id(3), new(2026, 6, 1), null, 60) { Gearbox = Gearbox.Automatic }];
        Assert.Equal(40_00, Price(list, Lesson(booked: new(2026, 5, 31)) with { Gearbox = Gearbox.Automatic }));
        Assert.Equal(36_00, Price(list, Lesson(booked: new(2026, 6, 1)) with { Gearbox = Gearbox.Automatic }));
    }

    [Fact]
    public void Hours_that_overlap_are_told()
    {
        var saturday = Rule(1, First, 40_00) with { Hours = new(0b0100000, LocalTime.Midnight, LocalTime.Midnight) };
        var late = Rule(2, First, 42_00) with { Hours = new(0b1100000, new(18, 0), LocalTime.Midnight) };
        Assert.True(saturday.Overlaps(late) && late.Overlaps(saturday));
        Assert.False(saturday.Overlaps(late with { Hours = new(0b1000000, new(18, 0), LocalTime.Midnight) }));
        Assert.False(saturday.Overlaps(late with { Gearbox = Gearbox.Manual }));
        Assert.False((saturday with { Hours = new(1, new(8, 0), new(12, 0)) }).Overlaps(late with { Hours = new(1, new(12, 0), new(18, 0)) }));
        Assert.False(saturday.Overlaps(saturday with { Id = Id(9) }));
    }

    private static long? Price(IEnumerable<PriceRule> list, LessonToPrice lesson)
    {
        var there = PriceList.Of(list, lesson);
        Assert.Equal(there, PriceList.Of(list.Reverse(), lesson));
        return there?.Pence;
    }

    private static LessonToPrice Lesson(LocalDate? booked = null, LocalDateTime? start = null, int minutes = 60) =>
        new(booked ?? new(2026, 5, 1), start ?? new(2026, 6, 2, 10, 0), minutes, LessonKind.Standard, Gearbox.Manual, Guid.Empty);

    private static PriceRule Rule(int id, LocalDate from, long pence, int minutes = 60) => new(Id(id), from, pence, minutes);

    private static Guid Id(int id) => new(id, 0, 0, new byte[8]);
}
