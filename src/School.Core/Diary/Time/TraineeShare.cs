namespace School.Core.Diary.Time;

/// <summary>How much of a trainee's lessons the sponsor has to sit in on, by time and not by their number.</summary>
/// <remarks>Source: SI 2005/1902 (Motor Cars (Driving Instruction) Regulations 2005) regulation 15(2): one fifth of the total time of paid lessons.</remarks>
public static class TraineeShare
{
    /// <summary>One part in so many.</summary>
    public const int OneIn = 5;

    /// <summary>The least minutes supervised that are enough for so many given.</summary>
    /// <param name="given">Minutes of paid lessons, 0 or more.</param>
    public static int Needed(int given)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(given);
        return (given + OneIn - 1) / OneIn;
    }

    /// <summary>Whether the minutes supervised are enough.</summary>
    /// <param name="given">Minutes of paid lessons, 0 or more.</param>
    /// <param name="supervised">Minutes of them in which the sponsor sat in.</param>
    public static bool IsEnough(int given, int supervised) => supervised >= Needed(given);

    /// <summary>What part of the time was supervised, from 0 to 1; 1 where nothing was given.</summary>
    /// <param name="given">Minutes of paid lessons, 0 or more.</param>
    /// <param name="supervised">Minutes of them in which the sponsor sat in.</param>
    public static double Of(int given, int supervised) => given == 0 ? 1 : (double)supervised / given;
}
