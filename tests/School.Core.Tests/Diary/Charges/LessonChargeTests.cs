using CsCheck;
using NodaTime;
using School.Core.Diary.Charges;

namespace School.Core.Tests.Diary.Charges;

public sealed class LessonChargeTests
{
    private static readonly Instant Start = Instant.FromUtc(2026, 3, 5, 10, 0);
    private static readonly ChargeTerms Terms = new(48);

    private static readonly Gen<Instant> Moments = Gen.Int[0, 60 * 24 * 365].Select(minutes => Start + Duration.FromMinutes(minutes));
    private static readonly Gen<Duration> Aheads = Gen.Int[-60 * 24, 60 * 800].Select(minutes => Duration.FromMinutes(minutes));
    private static readonly Gen<ChargeTerms> AnyTerms = Gen.Select(Gen.Int[0, 720], Gen.Bool, (hours, late) => new ChargeTerms(hours) { ChargesLateMoves = late });

    private static readonly ChargeCode[] Chargeable = [ChargeCode.Late, ChargeCode.LateMove, ChargeCode.Missed];

    // The school's own choice, no published source: the examples stand for the sentences that people read.
    [Theory]
    [InlineData(ChargeAct.Cancel, ChargeCause.Pupil, 49, ChargeCode.FreeInTime, false)]
    [InlineData(ChargeAct.Cancel, ChargeCause.Pupil, 48, ChargeCode.FreeInTime, false)]
    [InlineData(ChargeAct.Cancel, ChargeCause.Pupil, 47, ChargeCode.Late, true)]
    [InlineData(ChargeAct.Cancel, ChargeCause.Pupil, -1, ChargeCode.Late, true)]
    [InlineData(ChargeAct.Move, ChargeCause.Pupil, 48, ChargeCode.FreeInTime, false)]
    [InlineData(ChargeAct.Move, ChargeCause.Pupil, 47, ChargeCode.LateMove, false)]
    [InlineData(ChargeAct.Cancel, ChargeCause.School, 1, ChargeCode.FreeSchool, false)]
    [InlineData(ChargeAct.Move, ChargeCause.School, 1, ChargeCode.FreeSchool, false)]
    [InlineData(ChargeAct.Cancel, ChargeCause.InstructorIll, 1, ChargeCode.FreeInstructorIll, false)]
    [InlineData(ChargeAct.Cancel, ChargeCause.Weather, 1, ChargeCode.FreeWeather, false)]
    [InlineData(ChargeAct.Move, ChargeCause.Car, 1, ChargeCode.FreeCar, false)]
    [InlineData(ChargeAct.Missed, ChargeCause.Pupil, -1, ChargeCode.Missed, true)]
    [InlineData(ChargeAct.Missed, ChargeCause.Weather, 72, ChargeCode.Missed, true)]
    public void With_two_days_notice(ChargeAct act, ChargeCause cause, int hoursAhead, ChargeCode code, bool chargeable)
    {
        var charge = LessonCharge.Decide(act, cause, Start, Start - Duration.FromHours(hoursAhead), Terms);
        Assert.Equal((code, chargeable), (charge.Code, charge.Chargeable));
        Assert.Equal((Duration.FromHours(48), Duration.FromHours(hoursAhead)), (charge.Notice, charge.Ahead));
    }

    [Fact]
    public void The_last_free_moment_is_free_and_the_next_is_not()
    {
        var last = Terms.FreeUntil(Start);
        Assert.Equal(ChargeCode.FreeInTime, LessonCharge.Decide(ChargeAct.Cancel, ChargeCause.Pupil, Start, last, Terms).Code);
        Assert.Equal(ChargeCode.Late, LessonCharge.Decide(ChargeAct.Cancel, ChargeCause.Pupil, Start, last + Duration.Epsilon, Terms).Code);
    }

    // Our own rule, no published source. Hours ahead and minutes as the lesson stands and as it is to be.
    [Theory]
    [InlineData(72, 60, 72, 120, false)]
    [InlineData(72, 60, 47, 60, true)]
    [InlineData(72, 60, 48, 60, false)]
    [InlineData(47, 60, 24, 60, false)]
    [InlineData(47, 60, 47, 61, true)]
    [InlineData(47, 60, 47, 59, false)]
    [InlineData(47, 60, 72, 120, false)]
    public void A_change_makes_backing_out_dearer_where_it_is_no_longer_free_and_was_or_was_for_less(int before, int minutes, int after, int then, bool dearer) =>
        Assert.Equal(dearer, Terms.MakesDearer(Start + Duration.FromHours(before), minutes, Start + Duration.FromHours(after), then, Start));

    [Fact]
    public void Without_notice_it_is_free_until_the_lesson_begins()
    {
        var none = new ChargeTerms(0);
        Assert.True(none.IsFree(Start, Start));
        Assert.False(none.IsFree(Start, Start + Duration.Epsilon));
    }

    // Clocks go forward at 01:00 GMT on the last Sunday of March and back at 01:00 GMT on the last of October: Summer Time Order 2002 (SI 2002/262).
    [Theory]
    [InlineData("2026-03-29T10:00", "2026-03-27T09:00")]
    [InlineData("2026-10-25T10:00", "2026-10-23T11:00")]
    [InlineData("2026-06-14T10:00", "2026-06-12T10:00")]
    public void The_notice_is_as_long_as_ever_where_the_clocks_change(string start, string lastFree)
    {
        var london = DateTimeZoneProviders.Tzdb["Europe/London"];
        Instant At(string local) => NodaTime.Text.LocalDateTimePattern.CreateWithInvariantCulture("uuuu-MM-dd'T'HH:mm").Parse(local).Value.InZoneStrictly(london).ToInstant();
        Assert.Equal(At(lastFree), Terms.FreeUntil(At(start)));
    }

    [Fact]
    public void A_late_move_costs_what_the_terms_say()
    {
        var charging = Terms with { ChargesLateMoves = true };
        var late = Start - Duration.FromHours(3);
        Assert.Equal((ChargeCode.LateMove, true), Told(LessonCharge.Decide(ChargeAct.Move, ChargeCause.Pupil, Start, late, charging)));
        Assert.Equal((ChargeCode.LateMove, false), Told(LessonCharge.Decide(ChargeAct.Move, ChargeCause.Pupil, Start, late, Terms)));
        Assert.Equal((ChargeCode.Waived, false), Told(LessonCharge.Decide(ChargeAct.Move, ChargeCause.Pupil, Start, late, charging, waive: true)));
    }

    [Fact]
    public void What_the_school_brings_about_never_costs_anything() => Gen.Select(
        Gen.Enum<ChargeAct>().Where(act => act is not ChargeAct.Missed), Gen.Enum<ChargeCause>().Where(cause => cause is not ChargeCause.Pupil), Moments, Aheads, AnyTerms)
        .Sample((act, cause, start, ahead, terms) => !LessonCharge.Decide(act, cause, start, start - ahead, terms).Chargeable);

    [Fact]
    public void Whatever_comes_of_it_code_and_charge_agree() => Gen.Select(
        Gen.Enum<ChargeAct>(), Gen.Enum<ChargeCause>(), Moments, Aheads, AnyTerms, Gen.Bool)
        .Sample((act, cause, start, ahead, terms, waive) =>
        {
            var charge = LessonCharge.Decide(act, cause, start, start - ahead, terms, waive);
            var plain = LessonCharge.Decide(act, cause, start, start - ahead, terms);
            Assert.True(!charge.Chargeable || Chargeable.Contains(charge.Code));
            Assert.Equal(plain.Chargeable && waive, charge.Code is ChargeCode.Waived);
            Assert.Equal(plain.Chargeable && !waive, charge.Chargeable);
            Assert.Equal(terms.FreeUntil(start), charge.FreeUntil);
            Assert.Equal((start, act, ahead), (charge.Start, charge.Act, charge.Ahead));
        });

    [Fact]
    public void Waiting_longer_or_more_notice_never_makes_it_free_again() => Gen.Select(
        Gen.Enum<ChargeAct>(), Gen.Enum<ChargeCause>(), Moments, Aheads, Gen.Int[0, 60 * 24 * 14], Gen.Int[0, 360], Gen.Int[0, 360])
        .Sample((act, cause, start, ahead, later, hours, more) =>
        {
            var terms = new ChargeTerms(hours) { ChargesLateMoves = true };
            var charge = LessonCharge.Decide(act, cause, start, start - ahead, terms);
            Assert.True(!charge.Chargeable || LessonCharge.Decide(act, cause, start, start - ahead + Duration.FromMinutes(later), terms).Chargeable);
            Assert.True(!charge.Chargeable || LessonCharge.Decide(act, cause, start, start - ahead, terms with { FreeHours = hours + more }).Chargeable);
        });

    [Fact]
    public void Only_the_time_between_the_act_and_the_start_matters() => Gen.Select(
        Gen.Enum<ChargeAct>(), Gen.Enum<ChargeCause>(), Moments, Moments, Aheads, AnyTerms)
        .Sample((act, cause, start, other, ahead, terms) =>
            Told(LessonCharge.Decide(act, cause, start, start - ahead, terms)) == Told(LessonCharge.Decide(act, cause, other, other - ahead, terms)));

    [Fact]
    public void A_pupil_who_cancels_and_one_who_moves_have_the_same_time_for_it() => Gen.Select(Moments, Aheads, AnyTerms)
        .Sample((start, ahead, terms) =>
            (LessonCharge.Decide(ChargeAct.Cancel, ChargeCause.Pupil, start, start - ahead, terms).Code is ChargeCode.FreeInTime)
            == (LessonCharge.Decide(ChargeAct.Move, ChargeCause.Pupil, start, start - ahead, terms).Code is ChargeCode.FreeInTime));

    private static (ChargeCode Code, bool Chargeable) Told(LessonCharge charge) => (charge.Code, charge.Chargeable);
}
