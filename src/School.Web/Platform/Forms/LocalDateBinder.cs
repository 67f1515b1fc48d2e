using System.Globalization;
using Microsoft.AspNetCore.Mvc.ModelBinding;
using NodaTime;
using NodaTime.Text;

namespace School.Web.Platform.Forms;

/// <summary>
/// Binds a date from one field (<c>Date</c>, as a date input sends it or as a person types it)
/// or from three (<c>Date.Day</c>, <c>Date.Month</c>, <c>Date.Year</c>).
/// </summary>
internal sealed class LocalDateBinder : IModelBinder
{
    public const string NotReal = "Enter a real date, such as 27 3 2008";
    public const string NotRealDay = "Enter a real date, such as 15 6 2027";
    public const string Incomplete = "Enter the day, the month and the year, such as 27 3 2008";
    public const string ShortYear = "Enter the year with four digits, such as 2008";
    public const string Missing = "Enter a date, such as 15 6 2027";

    private static readonly CultureInfo English = CultureInfo.GetCultureInfo("en-GB");

    private static readonly LocalDatePattern[] OneField =
    [
        LocalDatePattern.Iso,
        .. new[] { "d/M/uuuu", "d M uuuu", "d.M.uuuu", "d-M-uuuu", "d MMMM uuuu", "d MMM uuuu" }
            .Select(text => LocalDatePattern.Create(text, English)),
    ];

    private static readonly LocalDatePattern[] ThreeFields =
        [.. new[] { "d M uuuu", "d MMMM uuuu", "d MMM uuuu" }.Select(text => LocalDatePattern.Create(text, English))];

    public Task BindModelAsync(ModelBindingContext bindingContext)
    {
        var name = bindingContext.ModelName;
        var whole = bindingContext.ValueProvider.GetValue(name);
        if (whole != ValueProviderResult.None)
        {
            bindingContext.ModelState.SetModelValue(name, whole);
            Bind(bindingContext, (whole.FirstValue ?? "").Trim(), OneField, NotRealDay);
            return Task.CompletedTask;
        }

        string[] keys = [$"{name}.Day", $"{name}.Month", $"{name}.Year"];
        var values = keys.Select(bindingContext.ValueProvider.GetValue).ToArray();
        if (values.All(value => value == ValueProviderResult.None))
        {
            return Task.CompletedTask;
        }

        foreach (var (key, value) in keys.Zip(values))
        {
            // The parts keep what was typed; the error belongs to the date as a whole.
            bindingContext.ModelState.SetModelValue(key, value);
            bindingContext.ModelState.MarkFieldSkipped(key);
        }

        var typed = values.Select(value => (value.FirstValue ?? "").Trim()).ToArray();
        var blanks = typed.Count(part => part.Length == 0);
        if (blanks is 1 or 2)
        {
            Refuse(bindingContext, Incomplete);
        }
        else if (typed[2].Length is 1 or 2 or 3)
        {
            Refuse(bindingContext, ShortYear);
        }
        else
        {
            Bind(bindingContext, string.Join(' ', typed).Trim(), ThreeFields, NotReal);
        }

        return Task.CompletedTask;
    }

    private static void Bind(ModelBindingContext context, string text, IEnumerable<LocalDatePattern> patterns, string notReal)
    {
        if (text.Length == 0)
        {
            if (context.ModelMetadata.IsReferenceOrNullableType)
            {
                context.Result = ModelBindingResult.Success(null);
            }
            else
            {
                Refuse(context, Missing);
            }

            return;
        }

        foreach (var pattern in patterns)
        {
            if (pattern.Parse(text).TryGetValue(default, out var date))
            {
                context.Result = ModelBindingResult.Success(date);
                return;
            }
        }

        Refuse(context, notReal);
    }

    private static void Refuse(ModelBindingContext context, string sentence) =>
        context.ModelState.TryAddModelError(context.ModelName, sentence);
}
