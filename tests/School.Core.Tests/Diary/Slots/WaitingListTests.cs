using CsCheck;
using NodaTime;
using School.Core.Diary.Slots;

namespace School.Core.Tests.Diary.Slots;

public sealed class WaitingListTests
{
    private static readonly Instant Now = Instant.FromUtc(2026, 3, 2, 9, 0);
    private static readonly DateTimeZone London = DateTimeZoneProviders.Tzdb["Europe/London"];
    private static readonly WaitingRules Rules = new() { AtOnce = 2, HeldMinutes = 30, LeadMinutes = 60 };

    [Fact]
    public void Who_has_waited_longest_comes_first_and_among_equals_who_had_fewest_lessons()
    {
        var (a, b, c) = (Waits(3, 5), Waits(1, 5), Waits(1, 2));
        Assert.Equal([c, b, a], WaitingList.InOrder([a, b, c], FairOrder.LongestWaiting).Select(w => w));
        Assert.Equal([c, b, a], WaitingList.InOrder([c, a, b], FairOrder.FewestLessons));
        var busy = Waits(0, 9);
        Assert.Equal([busy, c, b, a], WaitingList.InOrder([a, b, c, busy], FairOrder.LongestWaiting));
        Assert.Equal([c, b, a, busy], WaitingList.InOrder([a, b, c, busy], FairOrder.FewestLessons));
    }

    [Fact]
    public void While_an_offer_is_open_nobody_else_is_asked_and_when_it_lapses_the_next_are()
    {
        var (a, b, c) = (Waits(0, 0), Waits(1, 0), Waits(2, 0));
        var start = Now + Duration.FromHours(5);
        var first = WaitingList.Next(start, [], [c, b, a], Rules, Now, London);
        Assert.Equal([a.Id, b.Id], first.OfferTo);
        Assert.Equal(Now + Duration.FromMinutes(30), first.HeldUntil);

        MadeOffer[] made = [new(a.Id, first.HeldUntil, true), new(b.Id, first.HeldUntil, false)];
        Assert.Empty(WaitingList.Next(start, made, [a, b, c], Rules, Now + Duration.FromMinutes(29), London).OfferTo);
        var later = WaitingList.Next(start, made, [a, b, c], Rules, Now + Duration.FromMinutes(30), London);
        Assert.Equal([a.Id], later.Lapsed);
        Assert.Equal([c.Id], later.OfferTo);
    }

    // A winter's evening in London, where local time is UTC. The hours are common practice, no source.
    [Fact]
    public void At_night_nobody_is_asked_and_an_offer_made_in_the_evening_holds_on_in_the_morning()
    {
        var (evening, a) = (Instant.FromUtc(2026, 3, 2, 20, 50), Waits(0, 0));
        var start = evening + Duration.FromHours(40);
        var offered = WaitingList.Next(start, [], [a], Rules, evening, London);
        Assert.Equal([a.Id], offered.OfferTo);
        Assert.Equal(Instant.FromUtc(2026, 3, 3, 8, 20), offered.HeldUntil);
        foreach (var (hour, minute) in new[] { (21, 0), (23, 0) })
        {
            Assert.Empty(WaitingList.Next(start, [], [a], Rules, Instant.FromUtc(2026, 3, 2, hour, minute), London).OfferTo);
        }

        Assert.Empty(WaitingList.Next(start, [], [a], Rules, Instant.FromUtc(2026, 3, 3, 7, 59), London).OfferTo);
        Assert.Equal([a.Id], WaitingList.Next(start, [], [a], Rules, Instant.FromUtc(2026, 3, 3, 8, 0), London).OfferTo);
    }

    [Fact]
    public void An_offer_never_holds_into_the_lead_and_in_it_all_ends()
    {
        var a = Waits(0, 0);
        var start = Now + Duration.FromMinutes(80);
        Assert.Equal(Now + Duration.FromMinutes(20), WaitingList.Next(start, [], [a], Rules, Now, London).HeldUntil);
        var over = WaitingList.Next(start, [new(a.Id, start, true)], [Waits(1, 1)], Rules, Now + Duration.FromMinutes(20), London);
        Assert.True(over.Over);
        Assert.Equal([a.Id], over.Lapsed);
        Assert.Empty(over.OfferTo);
    }

    [Fact]
    public void Over_any_history_nobody_is_asked_twice_at_most_some_at_once_and_nobody_fitting_is_passed_over() => Gen.Select(
        Gen.Select(Gen.Int[0, 20], Gen.Int[0, 5]).Array[0, 12], Gen.Int[1, 4], Gen.Enum<FairOrder>(), Gen.Int[0, 2].Array[40]).Sample((pupils, atOnce, order, answers) =>
        {
            var rules = Rules with { AtOnce = atOnce, Order = order };
            var waiting = pupils.Select(p => Waits(p.Item1, p.Item2)).ToList();
            var start = Now + Duration.FromHours(30);
            var (made, asked, now, turn) = (new List<MadeOffer>(), new List<Guid>(), Now, 0);
            // Everybody lets each offer lapse or declines it, so in the end everybody was asked, in fair order.
            while (asked.Count < waiting.Count)
            {
                var round = WaitingList.Next(start, made, waiting, rules, now, London);
                made = made.ConvertAll(o => round.Lapsed.Contains(o.WaitingId) ? o with { Open = false } : o);
                if (round.OfferTo.Count > atOnce || round.OfferTo.Intersect(asked).Any() || (round.OfferTo.Count > 0 && made.Any(o => o.Open)))
                {
                    return false;
                }

                asked.AddRange(round.OfferTo);
                made.AddRange(round.OfferTo.Select(id => new MadeOffer(id, round.HeldUntil, true)));
                var declines = answers[turn++ % answers.Length] == 0;
                made = made.ConvertAll(o => declines ? o with { Open = false } : o);
                now += Duration.FromMinutes(10);
                if (turn > 500)
                {
                    return false;
                }
            }

            return asked.SequenceEqual(WaitingList.InOrder(waiting, order).Select(w => w.Id));
        });

    private static WaitingPupil Waits(int hoursLater, int lately) => new(Guid.NewGuid(), Now - Duration.FromHours(100) + Duration.FromHours(hoursLater), lately);
}
