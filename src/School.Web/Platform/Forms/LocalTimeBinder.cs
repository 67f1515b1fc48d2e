using System.Globalization;
using Microsoft.AspNetCore.Mvc.ModelBinding;
using NodaTime;
using NodaTime.Text;

namespace School.Web.Platform.Forms;

/// <summary>Binds a time of day as a time input sends it or as a person types it.</summary>
internal sealed class LocalTimeBinder : IModelBinder
{
    public const string NotReal = "Enter a real time, such as 09:30 or 2:15 pm";
    public const string Missing = "Enter a time, such as 09:30";

    private static readonly LocalTimePattern[] Patterns =
        [.. new[] { "HH:mm", "H:mm", "HH:mm:ss", "H.mm", "HHmm", "h:mmtt", "h.mmtt", "htt" }
            .Select(text => LocalTimePattern.Create(text, CultureInfo.InvariantCulture))];

    public Task BindModelAsync(ModelBindingContext bindingContext)
    {
        var value = bindingContext.ValueProvider.GetValue(bindingContext.ModelName);
        if (value == ValueProviderResult.None)
        {
            return Task.CompletedTask;
        }

        bindingContext.ModelState.SetModelValue(bindingContext.ModelName, value);
        var text = (value.FirstValue ?? "").Replace(" ", "", StringComparison.Ordinal).ToUpperInvariant();
        if (text.Length == 0 && bindingContext.ModelMetadata.IsReferenceOrNullableType)
        {
            bindingContext.Result = ModelBindingResult.Success(null);
            return Task.CompletedTask;
        }

        foreach (var pattern in Patterns)
        {
            if (pattern.Parse(text).TryGetValue(default, out var time))
            {
                bindingContext.Result = ModelBindingResult.Success(time);
                return Task.CompletedTask;
            }
        }

        bindingContext.ModelState.TryAddModelError(bindingContext.ModelName, text.Length == 0 ? Missing : NotReal);
        return Task.CompletedTask;
    }
}
