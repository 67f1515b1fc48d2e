using NodaTime;
using School.Core.Travel;

namespace School.Core.Diary.Slots;

/// <summary>What days are prepared for: one school's rules, its zone, its travel times, and the places seen so far.</summary>
/// <remarks>Safe to use from several threads. When any of the three changes, make a new one and prepare the days again.</remarks>
public sealed class SearchGround
{
    private readonly Dictionary<Coordinates, int> places = [];
    private readonly Lock lockOfPlaces = new();

    /// <summary>Takes the rules as they are: they are assumed valid.</summary>
    public SearchGround(DiaryRules rules, DateTimeZone zone, ITravelTimes travel)
    {
        (Rules, Zone, Travel) = (rules, zone, travel);
        ShortestLesson = rules.ShortestElapsed();
    }

    /// <summary>The school's settings.</summary>
    public DiaryRules Rules { get; }

    /// <summary>The school's time zone.</summary>
    public DateTimeZone Zone { get; }

    /// <summary>Travel times.</summary>
    public ITravelTimes Travel { get; }

    /// <summary>How many different places the prepared days hold.</summary>
    public int Places
    {
        get
        {
            lock (lockOfPlaces)
            {
                return places.Count;
            }
        }
    }

    internal int ShortestLesson { get; }

    /// <summary>Lays out some dates of one instructor for searching.</summary>
    /// <param name="picture">Where the cars are and who takes them on those dates.</param>
    /// <param name="diary">The instructor's diary on those dates.</param>
    /// <param name="dates">The dates.</param>
    public IEnumerable<PreparedDay> Prepare(DiaryPicture picture, InstructorDiary diary, IEnumerable<LocalDate> dates)
    {
        var cars = new HeldCars(picture, diary, null);
        return dates.Select(date => new PreparedDay(this, diary, date, cars, null));
    }

    /// <summary>The place's number.</summary>
    internal int Number(Coordinates place)
    {
        lock (lockOfPlaces)
        {
            if (!places.TryGetValue(place, out var number))
            {
                places[place] = number = places.Count;
            }

            return number;
        }
    }
}
