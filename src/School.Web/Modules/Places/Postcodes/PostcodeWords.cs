using System.Globalization;

namespace School.Web.Modules.Places.Postcodes;

internal static class PostcodeWords
{
    public const string Source =
        "Contains OS data © Crown copyright and database right, Royal Mail data © Royal Mail copyright and database right, and National Statistics data © Crown copyright and database right, under the Open Government Licence v3.0.";

    public static string Loaded(PostcodeSet set) => string.Create(
        CultureInfo.InvariantCulture,
        $"{Counted(set.Postcodes, "postcode")} of {Counted(set.Districts, "district")} loaded, {set.Roughly:N0} of them only roughly; {set.LeftOut:N0} left out that have no position.");

    private static string Counted(int count, string one) => string.Create(CultureInfo.InvariantCulture, $"{count:N0} {one}{(count == 1 ? "" : "s")}");
}
