using System.Globalization;
using Microsoft.AspNetCore.Mvc.ModelBinding;

namespace School.Web.Platform.Forms;

/// <summary>Binds several lengths in minutes that were typed into one field.</summary>
internal sealed class MinutesListBinder : IModelBinder
{
    public const string NotMinutes = "Write the lengths in minutes with commas between them, such as 60, 90, 120.";

    public Task BindModelAsync(ModelBindingContext bindingContext)
    {
        var value = bindingContext.ValueProvider.GetValue(bindingContext.ModelName);
        if (value == ValueProviderResult.None)
        {
            // In a list of things that each have lengths, this is how its end is known.
            return Task.CompletedTask;
        }

        bindingContext.ModelState.SetModelValue(bindingContext.ModelName, value);
        var parts = (value.FirstValue ?? "").Split([',', ';', ' '], StringSplitOptions.RemoveEmptyEntries);
        var minutes = new List<int>();
        foreach (var part in parts)
        {
            if (!int.TryParse(part, NumberStyles.None, CultureInfo.InvariantCulture, out var number))
            {
                bindingContext.ModelState.TryAddModelError(bindingContext.ModelName, NotMinutes);
                return Task.CompletedTask;
            }

            minutes.Add(number);
        }

        bindingContext.Result = ModelBindingResult.Success(minutes);
        return Task.CompletedTask;
    }
}
